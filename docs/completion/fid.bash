# Completes fid in bash. Written by 'fid completion bash'.

_fid_words() { mapfile -t COMPREPLY < <(compgen -W "$1" -- "$word"); }

# Recipes, skeletons, tables, pictures, and folders on the way there.
_fid_files() {
    local kind
    mapfile -t COMPREPLY < <(compgen -d -- "$word"
        for kind in lua json csv svg; do compgen -f -X "!*.$kind" -- "$word"; done)
}

_fid() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        _fid_words 'build check pose export show rule repl time diff init doctor new modules test doc completion version help'
        return
    fi
    case ${COMP_WORDS[1]} in
    build)
        case $before in
        --output|-o) _fid_files; return ;;
        --variants) _fid_files; return ;;
        --out-dir) mapfile -t COMPREPLY < <(compgen -d -- "$word"); return ;;
        --jobs|-j) :; return ;;
        --poses) :; return ;;
        --part) :; return ;;
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--output --watch --variants --out-dir --jobs --poses --part --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_files ;;
        esac ;;
    check)
        case $before in
        --only) _fid_words 'N101 N102 S201 S202 S203 S204 S205 S206 S207 S208 S209 C301 C302 C303 C304 P410 C305 P411 P413'; return ;;
        --except) _fid_words 'N101 N102 S201 S202 S203 S204 S205 S206 S207 S208 S209 C301 C302 C303 C304 P410 C305 P411 P413'; return ;;
        --poses) :; return ;;
        --seed) :; return ;;
        --format) _fid_words 'text json'; return ;;
        --picture) _fid_files; return ;;
        --fail-on) _fid_words 'error warning note'; return ;;
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--only --except --poses --seed --format --picture --fail-on --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_files ;;
        esac ;;
    pose)
        case $before in
        --pose) _fid_files; return ;;
        --set|-s) :; return ;;
        --bones) :; return ;;
        --match|-m) :; return ;;
        --write-pose) _fid_files; return ;;
        --output|-o) _fid_files; return ;;
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--pose --set --bones --match --mirror --write-pose --output --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_files ;;
        esac ;;
    export)
        case $before in
        --to) _fid_words 'skeleton svg'; return ;;
        --view) _fid_words 'front side top three-quarter all'; return ;;
        --output|-o) _fid_files; return ;;
        --pose) _fid_files; return ;;
        --set|-s) :; return ;;
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--to --view --output --pose --set --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_files ;;
        esac ;;
    show)
        case $before in
        --pose) _fid_files; return ;;
        --set|-s) :; return ;;
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--why --pose --set --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_files ;;
        esac ;;
    rule)
        case $before in
        esac
        case $word in
        -*) _fid_words '--quiet --help' ;;
        *) _fid_words 'N101 N102 S201 S202 S203 S204 S205 S206 S207 S208 S209 C301 C302 C303 C304 P410 C305 P411 P413' ;;
        esac ;;
    repl)
        case $before in
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--keep-going --watch --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_files ;;
        esac ;;
    time)
        case $before in
        --poses) :; return ;;
        --threads) :; return ;;
        --format) _fid_words 'text json'; return ;;
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--poses --threads --format --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_files ;;
        esac ;;
    diff)
        case $before in
        --tolerance) :; return ;;
        --format) _fid_words 'text json'; return ;;
        --param|-p) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--tolerance --format --param --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) : ;;
        esac ;;
    init)
        case $before in
        esac
        case $word in
        -*) _fid_words '--quiet --help' ;;
        *) mapfile -t COMPREPLY < <(compgen -d -- "$word") ;;
        esac ;;
    doctor)
        case $before in
        esac
        case $word in
        -*) _fid_words '--quiet --help' ;;
        *) : ;;
        esac ;;
    new)
        case $before in
        --output|-o) mapfile -t COMPREPLY < <(compgen -d -- "$word"); return ;;
        esac
        case $word in
        -*) _fid_words '--output --quiet --help' ;;
        *) _fid_words 'module recipe' ;;
        esac ;;
    modules)
        case $before in
        --format) _fid_words 'text json'; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--format --replace --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) _fid_words 'list info check add lock' ;;
        esac ;;
    test)
        case $before in
        --only) :; return ;;
        --format) _fid_words 'text json junit'; return ;;
        --jobs|-j) :; return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--only --format --jobs --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) : ;;
        esac ;;
    doc)
        case $before in
        --out-dir) mapfile -t COMPREPLY < <(compgen -d -- "$word"); return ;;
        --max-memory) :; return ;;
        --max-seconds) :; return ;;
        --max-instructions) :; return ;;
        esac
        case $word in
        -*) _fid_words '--out-dir --locked --max-memory --max-seconds --max-instructions --quiet --help' ;;
        *) : ;;
        esac ;;
    completion)
        case $before in
        esac
        case $word in
        -*) _fid_words '--quiet --help' ;;
        *) _fid_words 'bash zsh fish' ;;
        esac ;;
    version)
        case $before in
        esac
        case $word in
        -*) _fid_words '--quiet --help' ;;
        *) : ;;
        esac ;;
    help)
        case $before in
        esac
        case $word in
        -*) _fid_words '--man --quiet --help' ;;
        *) _fid_words 'build check pose export show rule repl time diff init doctor new modules test doc completion version help rig bone control chain span_chain follow aim span ik limit twist spline spaces add slider pose_layer drive display_set use mirror fail find bones pose solve match switch check copy module recipe tests vec frame curve data random zip name.parse points.plane points.mirror points.line points.arc points.resample points.split outline.circle outline.square outline.box outline.arrow outline.line Bone Chain Channel Constraint Pose Solved Instance Recipe Test Rig calls' ;;
        esac ;;
    esac
}

complete -o filenames -F _fid fid
