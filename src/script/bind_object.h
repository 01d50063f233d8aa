#ifndef FID_SCRIPT_BIND_OBJECT_H
#define FID_SCRIPT_BIND_OBJECT_H

#include "rig/rig.h"

#include <lauxlib.h>
#include <lua.h>

/// What the objects of rigs have in common: each is a userdata that holds handles, with the box of its rig as its first
/// user value. The functions raise their errors.

typedef enum fid_object_kind {
    FID_OBJECT_BOX, ///< owns a rig
    FID_OBJECT_RIG,
    FID_OBJECT_BONE,
    FID_OBJECT_SPOT,
    FID_OBJECT_CHANNELS, ///< bone.channel
    FID_OBJECT_CHAIN,
    FID_OBJECT_CONSTRAINT,
    FID_OBJECT_CHANNEL,
    FID_OBJECT_DRIVE,
    FID_OBJECT_LAYER,
    FID_OBJECT_SET,
    FID_OBJECT_POSE,
    FID_OBJECT_PROGRAM, ///< owns a program
    FID_OBJECT_SOLVED,  ///< owns a solved pose
    FID_OBJECT_REPORT,  ///< owns a report
    FID_OBJECT_KINDS
} fid_object_kind;

/// How one kind of object looks to scripts. Static.
typedef struct fid_object_class {
    fid_object_kind kind;
    const char *name;                         ///< "Bone"
    const char *const *attributes;            ///< NULL-terminated, or NULL
    void (*get)(lua_State *L, int attribute); ///< pushes an attribute of the object at index 1
    void (*item)(lua_State *L); ///< pushes what stands for the key at index 2, which is a number or text that is
                                ///< neither attribute nor method, and returns, or pushes nothing; or NULL
    const luaL_Reg *methods;    ///< or NULL
    const luaL_Reg *meta;       ///< metamethods beside __index, __newindex and __metatable, or NULL
} fid_object_class;

/// What the machine owns of one rig.
typedef struct fid_box {
    fid_rig *rig;   ///< NULL: gone
    int64_t number; ///< from 1, in order of creation
    ptrdiff_t held; ///< bytes that the host counts for it
} fid_box;

/// Prepares the registry; once for each state.
void fid_object_open(lua_State *L);

/// Makes the metatable of a kind; once for each state and kind.
void fid_object_add_class(lua_State *L, const fid_object_class *class);

/// Pushes the table of the methods of a kind.
void fid_object_push_methods(lua_State *L, fid_object_kind kind);

/// Pushes a zeroed object of a kind with the box at `box_index` (0: none) as its user value; `values` is the number of
/// further user values.
void *fid_object_new(lua_State *L, fid_object_kind kind, size_t size, int box_index, int values);

/// The object at `index`, or NULL where it is not of that kind.
void *fid_object_test(lua_State *L, int index, fid_object_kind kind);

/// As fid_object_test; raises where it is not of that kind, naming `call` ("bone:point()").
void *fid_object_need(lua_State *L, int index, fid_object_kind kind, const char *call);

/// What a value is, for the message of an error: "a number", "a Bone". May leave a text on the stack.
const char *fid_object_describe(lua_State *L, int index);

/// Pushes an empty box, registers the rig that is put into it, and pushes the box of a rig that the machine has.
fid_box *fid_box_new(lua_State *L);
void fid_box_register(lua_State *L, int index);
void fid_box_push(lua_State *L, const fid_rig *rig);

/// Where a box keeps its Bones by slot, and the program of the rig as it was last compiled.
enum { FID_BOX_BONES = 2, FID_BOX_PROGRAM = 3 };

/// Takes the rig out of its box.
fid_rig *fid_box_release(lua_State *L, int index);

/// The box, or the rig, of the object at `index`; the latter raises where it is gone.
fid_box *fid_object_box(lua_State *L, int index);
fid_rig *fid_object_rig(lua_State *L, int index);

/// Tells the host how many bytes the rig holds now, and charges for one more element.
void fid_rig_account(lua_State *L, const fid_rig *rig);

/// Pushes a text and clears it, also where it raises.
void fid_object_push_text(lua_State *L, fid_text *text);

/// Takes the rig of a call: `rig:bone{}` finds the Rig at index 1 and keeps one argument at index 2.
fid_rig *fid_rig_begin(lua_State *L, const char *call);

/// Raises the error unless `code` is FID_OK; where it speaks of an argument, it begins with `call` ("rig:bone{}"; may
/// be NULL).
void fid_object_check(lua_State *L, const char *call, fid_code code, const fid_error *err);

/// As fid_object_check, after it took back what was added since the mark.
void fid_rig_finish(lua_State *L, const char *call, fid_rig *rig, const fid_rig_mark *mark, fid_code code,
                    const fid_error *err);

#endif
