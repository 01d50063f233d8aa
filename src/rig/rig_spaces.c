#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

/// The choice at rest, or -1 where its name is none of them.
static int32_t find_default(const fid_spaces *spaces) {
    for (int32_t i = 0; i < spaces->among.count && spaces->rest_choice != NULL; i++) {
        if (strcmp(spaces->among.at[i].name, spaces->rest_choice) == 0) {
            return i;
        }
    }
    return spaces->rest_choice == NULL ? 0 : -1;
}

static fid_code fail_default(const fid_spaces *spaces, const char *const *names, fid_error *err) {
    const char *near = fid_text_nearest(spaces->rest_choice, names, spaces->among.count);
    return fid_fail(err, FID_UNKNOWN, "'default' is '%.64s', which is none of 'among'%s%s%s", spaces->rest_choice,
                    near != NULL ? "; did you mean '" : "", near != NULL ? near : "", near != NULL ? "'?" : "");
}

static fid_code append_slider(fid_rig *rig, const fid_slider_def *slider, fid_channel *out, fid_error *err) {
    fid_slider_id id;
    fid_code code = fid_rig_append_slider(rig, slider, &id, err);
    if (code == FID_OK) {
        *out = (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = id.handle};
    }
    return code;
}

/// The slider that is the share of one of several spaces.
static fid_code append_share(fid_rig *rig, fid_bone_id on, fid_space *space, bool rests, int32_t origin,
                             fid_error *err) {
    char name[FID_ENTRY_SIZE], doc[FID_ENTRY_SIZE];
    fid_slider_def slider = fid_slider_default();
    snprintf(name, sizeof name, "space_%.64s", space->name);
    snprintf(doc, sizeof doc, "how much the bone rides on '%.64s'", space->name);
    if (!fid_name_is_key(name)) {
        return fid_fail(err, FID_INVALID, "'among': the name '%s' is too long: its slider would be '%s'", space->name,
                        name);
    }
    slider.on = on;
    slider.name = name;
    slider.rest = rests ? 1.0f : 0.0f;
    slider.doc = doc;
    slider.origin = origin;
    return append_slider(rig, &slider, &space->by, err);
}

/// The names of the choices in memory of their own, or NULL.
static const char **list_names(const fid_space_list *among) {
    const char **names = fid_memory_get((size_t)among->count * sizeof *names);
    for (int32_t i = 0; names != NULL && i < among->count; i++) {
        names[i] = among->at[i].name;
    }
    return names;
}

fid_code fid_rig_append_space_sliders(fid_rig *rig, fid_constraint_def *def, fid_error *err) {
    fid_spaces *spaces = &def->as.spaces;
    int32_t count = spaces->among.count, chosen = find_default(spaces);
    if (spaces->by.kind != FID_CHANNEL_NONE || (spaces->mixed && spaces->among.at[0].by.kind != FID_CHANNEL_NONE)) {
        return FID_OK;
    }
    const char **names = list_names(&spaces->among);
    if (names == NULL) {
        return fid_no_memory(err);
    }
    fid_code code = chosen < 0 ? fail_default(spaces, names, err) : FID_OK;
    if (code == FID_OK && spaces->mixed) {
        fid_space *at = fid_arena_get(&rig->arena, (size_t)count * sizeof *at);
        code = at != NULL ? FID_OK : fid_no_memory(err);
        for (int32_t i = 0; i < count && code == FID_OK; i++) {
            at[i] = spaces->among.at[i];
            code = append_share(rig, def->bone, &at[i], i == chosen, def->origin, err);
        }
        spaces->among.at = at;
    } else if (code == FID_OK) {
        fid_slider_def slider = fid_slider_default();
        slider.on = def->bone;
        slider.name = "space";
        slider.rest = (float)chosen;
        slider.choices = (fid_words){names, count};
        slider.doc = "what the bone rides on";
        slider.origin = def->origin;
        code = append_slider(rig, &slider, &spaces->by, err);
    }
    fid_memory_free(names);
    spaces->rest_choice = NULL; // from here on the sliders know
    return code;
}

/// The slider chooses among these spaces alone, so that it can be given more choices.
static fid_code check_alone(const fid_rig *rig, int32_t index, fid_error *err) {
    fid_channel by = rig->constraints.at[index].def.as.spaces.by;
    for (int32_t i = 0; i < rig->constraints.count && by.kind != FID_CHANNEL_NONE; i++) {
        const fid_constraint *other = &rig->constraints.at[i];
        if (i != index && other->def.kind == FID_CONSTRAINT_SPACES && fid_channel_is(other->def.as.spaces.by, by)) {
            return fid_fail(err, FID_INVALID, "the slider of '%s' chooses for '%s', too: nothing can be added to one",
                            rig->constraints.at[index].address, other->address);
        }
    }
    return FID_OK;
}

/// What spaces become: the entries that are there and the new ones behind them, in the arena.
static fid_code join(fid_rig *rig, const fid_space_list *more, int32_t origin, fid_constraint_def *def,
                     fid_error *err) {
    fid_space_list *among = &def->as.spaces.among;
    int32_t before = among->count;
    fid_space *at = fid_arena_get(&rig->arena, (size_t)(before + more->count) * sizeof *at);
    if (at == NULL) {
        return fid_no_memory(err);
    }
    memcpy(at, among->at, (size_t)before * sizeof *at);
    for (int32_t i = 0; i < more->count; i++) {
        at[before + i] = more->at[i];
        at[before + i].is_added = true;
        at[before + i].origin = origin;
    }
    *among = (fid_space_list){at, before + more->count};
    fid_code code = fid_schema_check(fid_constraint_schemas[def->kind], def, rig, err);
    for (int32_t i = before; i < among->count && def->as.spaces.mixed && code == FID_OK; i++) {
        code = append_share(rig, def->bone, &at[i], false, origin, err);
    }
    code = code == FID_OK ? fid_spaces_check(rig, def, err) : code;
    return code == FID_OK ? fid_schema_copy(fid_constraint_schemas[def->kind], def, &rig->arena, err) : code;
}

static fid_code grow(fid_rig *rig, int32_t index, const fid_space_list *more, int32_t origin, fid_error *err) {
    fid_constraint_def def = rig->constraints.at[index].def;
    fid_code code = join(rig, more, origin, &def, err);
    if (code != FID_OK) {
        return code;
    }
    int32_t slider = fid_rig_slider_index(rig, (fid_slider_id){def.as.spaces.by.owner});
    fid_words choices = {NULL, def.as.spaces.among.count};
    const char **names = slider >= 0 ? fid_arena_get(&rig->arena, (size_t)choices.count * sizeof *names) : NULL;
    if ((slider >= 0 && names == NULL) || !fid_array_reserve(&rig->additions, 1)) {
        return fid_no_memory(err);
    }
    // From here on nothing fails: what was is kept, and the rest put in its place.
    fid_spaces_before before = {index, rig->constraints.at[index].def.as.spaces.among, {NULL, 0}};
    if (slider >= 0) {
        for (int32_t i = 0; i < choices.count; i++) {
            names[i] = def.as.spaces.among.at[i].name;
        }
        choices.at = names;
        before.choices = rig->sliders.at[slider].def.choices;
        rig->sliders.at[slider].def.choices = choices;
        rig->sliders.at[slider].def.max = (float)(choices.count - 1);
    }
    rig->additions.at[rig->additions.count++] = before;
    rig->constraints.at[index].def = def;
    return FID_OK;
}

fid_code fid_rig_add_spaces(fid_rig *rig, fid_constraint_id spaces, const fid_space_list *among, int32_t origin,
                            fid_error *err) {
    const fid_constraint *constraint = fid_rig_constraint(rig, spaces, err);
    if (constraint == NULL) {
        return FID_STALE;
    }
    if (constraint->def.kind != FID_CONSTRAINT_SPACES) {
        return fid_fail(err, FID_INVALID, "'%s' is no spaces: only they have choices that can be added to",
                        constraint->address);
    }
    int32_t index = fid_rig_constraint_index(rig, spaces);
    fid_code code = check_alone(rig, index, err);
    code = code == FID_OK ? fid_rig_check_origin(rig, origin, err) : code;
    if (code != FID_OK || among->count == 0) {
        return code;
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    code = grow(rig, index, among, origin, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    rig->edits++;
    return FID_OK;
}
