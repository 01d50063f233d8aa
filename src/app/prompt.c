#include "app/prompt.h"

#include "app/history.h"
#include "base/memory.h"

#include <errno.h>
#include <histedit.h>
#include <locale.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/select.h>
#include <time.h>
#include <unistd.h>
#include <wchar.h>

/// The keys of signals, which the terminal hands on as they are while a line is typed: what was typed before one and
/// after it keeps its place, where a signal would make the terminal drop it (POSIX.1-2017, 11.1.9, ISIG and NOFLSH).
enum { CTRL_C = 3, CTRL_Z = 26, CTRL_BACKSLASH = 28 };

/// Those of this session beside those of earlier ones.
enum { MOST_FORMS = 4000 };

/// Signals that matter while a line is typed.
static const int signals[] = {SIGINT, SIGWINCH, SIGCONT};
enum { SIGNALS = sizeof signals / sizeof *signals };

struct fid_prompt {
    EditLine *editor;
    History *forms;
    fid_history *kept; ///< or NULL
    const char *words;
    fid_text line;
    fid_prompt_complete complete;
    void *user;
    bool is_left, is_saved;
    fid_watch *watch; ///< or NULL
    double quiet;
    mbstate_t half; ///< of a character whose bytes have not all come
    bool has_signals;
    struct sigaction before[SIGNALS];
    sigset_t awake; ///< while a key is waited for
};

static volatile sig_atomic_t is_interrupted, is_resized, is_continued;

static void note(int number) {
    if (number == SIGINT) {
        is_interrupted = 1;
    } else if (number == SIGWINCH) {
        is_resized = 1;
    } else {
        is_continued = 1;
    }
}

static fid_prompt *prompt_of(EditLine *editor) {
    void *prompt = NULL;
    (void)el_get(editor, EL_CLIENTDATA, &prompt);
    return prompt;
}

static char *show_words(EditLine *editor) {
    static char shown[64];
    snprintf(shown, sizeof shown, "%s", prompt_of(editor)->words);
    return shown;
}

/// Writes what the terminal takes for a command by its name of two letters, such as "up"; nothing where it has none.
static void command(EditLine *editor, const char *name) {
    char *told = NULL;
    if (el_get(editor, EL_GETTC, name, &told) == 0 && told) {
        fputs(told, stdout);
    }
}

/// Moves on by one character where lines are so wide.
static void advance(wchar_t letter, int columns, int *row, int *column) {
    int width = letter == L'\n' ? 0 : wcwidth(letter);
    // What has no shape is shown as ^A.
    width = letter == L'\n' || width >= 0 ? width : 2;
    if (letter == L'\n' || *column + width > columns) {
        (*row)++;
        *column = 0;
    }
    *column += width;
}

/// How many rows below the one in which the prompt begins a place of the line is, where lines are so wide.
static int row_of(const fid_prompt *prompt, const wchar_t *place, int columns) {
    const LineInfoW *line = el_wline(prompt->editor);
    int row = 0, column = 0;
    for (const char *at = prompt->words; *at; at++) {
        advance((wchar_t)*at, columns, &row, &column);
    }
    for (const wchar_t *at = line->buffer; at < place; at++) {
        advance(*at, columns, &row, &column);
    }
    return row + column / columns;
}

/// Shows the line anew in a window of another width.
static void follow_size(fid_prompt *prompt) {
    struct winsize size;
    int before = 0;
    (void)el_get(prompt->editor, EL_GETTC, "co", &before);
    if (before > 0 && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        // Some terminals break their lines anew, others cut them: never higher up than the line began.
        const wchar_t *cursor = el_wline(prompt->editor)->cursor;
        int one = row_of(prompt, cursor, before), other = row_of(prompt, cursor, size.ws_col);
        for (int row = one < other ? one : other; row > 0; row--) {
            command(prompt->editor, "up");
        }
    }
    fputs("\r", stdout);
    command(prompt->editor, "cd");
    fflush(stdout);
    el_resize(prompt->editor);
    (void)el_set(prompt->editor, EL_REFRESH);
}

/// The process was stopped, and goes on: the shell has had the terminal meanwhile.
static void take_terminal(fid_prompt *prompt) {
    // Both: the editor of lines thinks that it has it still.
    (void)el_set(prompt->editor, EL_PREP_TERM, 0);
    (void)el_set(prompt->editor, EL_PREP_TERM, 1);
    fputs("\r", stdout);
    fflush(stdout);
    (void)el_set(prompt->editor, EL_REFRESH);
}

/// Whether nothing is typed in the line yet.
static bool is_empty(const fid_prompt *prompt) {
    const LineInfoW *line = el_wline(prompt->editor);
    return line->lastchar == line->buffer;
}

/// Waits for a key, or a change of what is watched: below 0 where a signal came. The signals come nowhere but here:
/// none is lost between a look and the wait.
static int wait_for_key(const fid_prompt *prompt, double left) {
    fd_set ready;
    FD_ZERO(&ready);
    FD_SET(STDIN_FILENO, &ready);
    int changes = prompt->watch ? fid_watch_descriptor(prompt->watch) : -1;
    if (changes >= 0) {
        FD_SET(changes, &ready);
    }
    struct timespec most = {(time_t)left, (long)(1e9 * (left - floor(left))) + 1};
    int count = pselect((changes > STDIN_FILENO ? changes : STDIN_FILENO) + 1, &ready, NULL, NULL,
                        left >= 0 ? &most : NULL, &prompt->awake);
    return count < 0 ? count : FD_ISSET(STDIN_FILENO, &ready) ? 1 : 0;
}

/// The next byte of the terminal; false at its end, or where the line is given up.
static bool read_byte(fid_prompt *prompt, char *out) {
    for (;;) {
        if (is_resized) {
            is_resized = 0;
            follow_size(prompt);
        }
        if (is_continued) {
            is_continued = 0;
            take_terminal(prompt);
        }
        if (is_interrupted) {
            prompt->is_left = true;
            return false;
        }
        double left = prompt->watch && is_empty(prompt) ? fid_watch_look(prompt->watch, prompt->quiet) : -1;
        if (left == 0) {
            prompt->is_saved = true;
            return false;
        }
        int waited = wait_for_key(prompt, left);
        if (waited < 0 && errno != EINTR) {
            return false;
        }
        if (waited <= 0) {
            continue;
        }
        ssize_t count = read(STDIN_FILENO, out, 1);
        if (count < 0 && errno == EINTR) {
            continue;
        }
        return count == 1;
    }
}

/// The next character for the editor of lines: 1, or 0 where there is none.
static int read_character(EditLine *editor, wchar_t *out) {
    fid_prompt *prompt = prompt_of(editor);
    char byte;
    while (read_byte(prompt, &byte)) {
        if (byte == CTRL_C) {
            prompt->is_left = true;
            return 0;
        }
        if (byte == CTRL_Z || byte == CTRL_BACKSLASH) {
            (void)el_set(editor, EL_PREP_TERM, 0);
            (void)kill(0, byte == CTRL_Z ? SIGTSTP : SIGQUIT);
            is_continued = 1;
            continue;
        }
        size_t used = mbrtowc(out, &byte, 1, &prompt->half);
        if (used == (size_t)-2) {
            continue;
        }
        if (used == (size_t)-1) {
            memset(&prompt->half, 0, sizeof prompt->half);
            *out = L'\xFFFD';
        }
        return 1;
    }
    return 0;
}

// Completion

/// What fits, taken apart in place.
typedef struct choices {
    char *words[4096], *ends[4096]; ///< an end is what follows a word where it is the only one
    size_t count, typed;            ///< bytes of the words that are there already
} choices;

static void read_choices(char *told, choices *out) {
    out->count = 0;
    out->typed = strtoul(told, &told, 10);
    for (told += *told != '\0'; *told && out->count < sizeof out->words / sizeof *out->words;) {
        char *tab = told + strcspn(told, "\t\n"), *end = tab + strcspn(tab, "\n");
        bool goes_on = *end != '\0';
        out->words[out->count] = told;
        out->ends[out->count++] = tab + (*tab == '\t');
        *tab = *end = '\0';
        told = end + goes_on;
    }
}

/// How many bytes all of them begin with, in whole characters.
static size_t count_common(const choices *of) {
    size_t common = strlen(of->words[0]);
    for (size_t i = 1; i < of->count; i++) {
        size_t same = 0;
        while (same < common && of->words[0][same] == of->words[i][same]) {
            same++;
        }
        common = same;
    }
    while (common > 0 && ((unsigned char)of->words[0][common] & 0xC0) == 0x80) {
        common--;
    }
    return common;
}

static int width_of(const char *word) {
    wchar_t wide[256];
    size_t count = mbstowcs(wide, word, sizeof wide / sizeof *wide);
    int width = count < sizeof wide / sizeof *wide ? wcswidth(wide, count) : -1;
    return width >= 0 ? width : (int)strlen(word);
}

/// Shows them below the line, in columns that are read downwards, as many as the window has room for, and the line
/// again below them.
static void list_choices(fid_prompt *prompt, const choices *of) {
    struct winsize size = {.ws_row = 24, .ws_col = 80};
    (void)ioctl(STDOUT_FILENO, TIOCGWINSZ, &size);
    int columns = size.ws_col > 0 ? size.ws_col : 80,
        rows = size.ws_row > 4   ? size.ws_row - 3
               : size.ws_row > 0 ? 2
                                 : 21,
        widest = 1;
    for (size_t i = 0; i < of->count; i++) {
        int width = width_of(of->words[i]) + 2;
        widest = width > widest ? width : widest;
    }
    int across = columns / widest > 0 ? columns / widest : 1;
    int needed = (int)((of->count + (size_t)across - 1) / (size_t)across);
    int down = needed < rows ? needed : rows;
    const LineInfoW *line = el_wline(prompt->editor);
    for (int left = row_of(prompt, line->lastchar, columns) - row_of(prompt, line->cursor, columns); left >= 0;
         left--) {
        fputs("\n", stdout);
    }
    fputs("\r", stdout);
    for (int row = 0; row < down; row++) {
        for (size_t i = (size_t)row; i < of->count && (int)i / down < across; i += (size_t)down) {
            bool is_last = i + (size_t)down >= of->count || (int)i / down + 1 == across;
            printf("%s%*s", of->words[i], is_last ? 0 : widest - width_of(of->words[i]), "");
        }
        fputs("\n", stdout);
    }
    if (needed > down) {
        printf("... and %zu more\n", of->count - (size_t)(down * across));
    }
    fflush(stdout);
    (void)el_set(prompt->editor, EL_REFRESH);
}

/// Tab: goes on as far as all that fits agrees, or lists it.
static unsigned char complete_line(EditLine *editor, int key) {
    (void)key;
    fid_prompt *prompt = prompt_of(editor);
    const LineInfo *line = el_line(editor);
    fid_text typed = {0}, told = {0};
    fid_text_add_bytes(&typed, line->buffer, (size_t)(line->cursor - line->buffer));
    unsigned char outcome = CC_ERROR;
    if (!typed.failed && (!typed.at || typed.at[strspn(typed.at, " ")] == '\0')) {
        // Where nothing is typed yet it sets a line in.
        outcome = el_insertstr(editor, "  ") == 0 ? CC_REFRESH : CC_ERROR;
    } else if (!typed.failed) {
        prompt->complete(prompt->user, typed.at, &told);
    }
    choices *of = told.count > 0 ? fid_memory_get(sizeof *of) : NULL;
    if (of) {
        read_choices(told.at, of);
    }
    if (of && of->count > 0 && of->typed <= strlen(of->words[0])) {
        size_t common = count_common(of);
        fid_text more = {0};
        fid_text_add_bytes(&more, of->words[0] + of->typed, common > of->typed ? common - of->typed : 0);
        fid_text_add(&more, of->count == 1 ? of->ends[0] : "");
        bool is_more = more.count > 0 && !more.failed;
        if (is_more && el_insertstr(editor, more.at) == 0) {
            outcome = CC_REFRESH;
        } else if (!is_more && of->count > 1) {
            list_choices(prompt, of);
            outcome = CC_NORM;
        }
        fid_text_clear(&more);
    }
    fid_memory_free(of);
    fid_text_clear(&typed);
    fid_text_clear(&told);
    return outcome;
}

/// Keys that terminals send beyond those that the editor of lines knows of by itself.
static void bind_keys(EditLine *editor) {
    static const char *const keys[][2] = {
        {"^R", "em-inc-search-prev"}, {"\\e[1~", "ed-move-to-beg"},      {"\\e[7~", "ed-move-to-beg"},
        {"\\e[H", "ed-move-to-beg"},  {"\\e[4~", "ed-move-to-end"},      {"\\e[8~", "ed-move-to-end"},
        {"\\e[F", "ed-move-to-end"},  {"\\e[3~", "ed-delete-next-char"}, {"\\e[1;5C", "em-next-word"},
        {"\\e[1;5D", "ed-prev-word"},
    };
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        (void)el_set(editor, EL_BIND, keys[i][0], keys[i][1], NULL);
    }
}

static void set_character_set(void) {
    (void)setlocale(LC_CTYPE, "");
    if (MB_CUR_MAX == 1) {
        (void)setlocale(LC_CTYPE, "C.UTF-8");
    }
}

fid_prompt *fid_prompt_open(fid_prompt_complete complete, void *user) {
    set_character_set();
    fid_prompt *prompt = fid_memory_get_zero(1, sizeof *prompt);
    if (!prompt) {
        return NULL;
    }
    prompt->complete = complete;
    prompt->user = user;
    prompt->editor = el_init("fid", stdin, stdout, stderr);
    prompt->forms = history_init();
    if (!prompt->editor || !prompt->forms) {
        fid_prompt_close(prompt);
        return NULL;
    }
    HistEvent event;
    (void)history(prompt->forms, &event, H_SETSIZE, MOST_FORMS);
    (void)history(prompt->forms, &event, H_SETUNIQUE, 1);
    (void)el_set(prompt->editor, EL_CLIENTDATA, prompt);
    (void)el_set(prompt->editor, EL_SIGNAL, 0);
    (void)el_set(prompt->editor, EL_EDITOR, "emacs");
    (void)el_set(prompt->editor, EL_PROMPT, show_words);
    (void)el_set(prompt->editor, EL_GETCFN, read_character);
    (void)el_set(prompt->editor, EL_HIST, history, prompt->forms);
    (void)el_set(prompt->editor, EL_SETTY, "-d", "-isig", NULL);
    // It keeps the texts: by its narrow call it would keep copies that nobody frees.
    (void)el_wset(prompt->editor, EL_ADDFN, L"fid-complete", L"goes on with what fits", complete_line);
    (void)el_set(prompt->editor, EL_BIND, "^I", "fid-complete", NULL);
    bind_keys(prompt->editor);
    (void)el_source(prompt->editor, NULL);
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = note;
    sigemptyset(&action.sa_mask);
    for (int i = 0; i < SIGNALS; i++) {
        (void)sigaction(signals[i], &action, &prompt->before[i]);
    }
    prompt->has_signals = true;
    return prompt;
}

fid_prompt_end fid_prompt_ask(fid_prompt *prompt, const char *words, const char **line) {
    sigset_t blocked;
    sigemptyset(&blocked);
    for (int i = 0; i < SIGNALS; i++) {
        sigaddset(&blocked, signals[i]);
    }
    (void)sigprocmask(SIG_BLOCK, &blocked, &prompt->awake);
    is_interrupted = is_continued = 0;
    prompt->is_left = prompt->is_saved = false;
    prompt->words = words;
    // Before the prompt is seen: what is typed at once is taken as keys, too.
    (void)el_set(prompt->editor, EL_PREP_TERM, 1);
    int count = 0;
    const char *typed = el_gets(prompt->editor, &count);
    if (typed) {
        size_t length = (size_t)count;
        prompt->line.count = 0;
        fid_text_add_bytes(&prompt->line, typed, length > 0 && typed[length - 1] == '\n' ? length - 1 : length);
        *line = prompt->line.at;
    } else {
        // Nothing of the line stays below where the next output goes; a save is shown as what it stands for.
        fputs(prompt->is_saved ? "reload()\n" : "\n", stdout);
        command(prompt->editor, "cd");
        fflush(stdout);
    }
    (void)sigprocmask(SIG_SETMASK, &prompt->awake, NULL);
    return prompt->is_left                 ? FID_PROMPT_LEFT
           : prompt->is_saved              ? FID_PROMPT_SAVED
           : typed && !prompt->line.failed ? FID_PROMPT_LINE
                                           : FID_PROMPT_END;
}

void fid_prompt_watch(fid_prompt *prompt, fid_watch *watch, double quiet) {
    prompt->watch = watch;
    prompt->quiet = quiet;
}

static void enter_form(void *user, const char *form) {
    const fid_prompt *prompt = user;
    HistEvent event;
    (void)history(prompt->forms, &event, H_ENTER, form);
}

void fid_prompt_recall(fid_prompt *prompt, const char *folder) {
    prompt->kept = fid_history_open(folder, enter_form, prompt);
}

void fid_prompt_remember(fid_prompt *prompt, const char *form) {
    enter_form(prompt, form);
    fid_history_add(prompt->kept, form);
}

void fid_prompt_close(fid_prompt *prompt) {
    if (!prompt) {
        return;
    }
    for (int i = 0; prompt->has_signals && i < SIGNALS; i++) {
        (void)sigaction(signals[i], &prompt->before[i], NULL);
    }
    if (prompt->editor) {
        el_end(prompt->editor);
    }
    if (prompt->forms) {
        history_end(prompt->forms);
    }
    fid_history_close(prompt->kept);
    fid_text_clear(&prompt->line);
    fid_memory_free(prompt);
}
