#include "script/fid.h"

#include "script/bind_bone.h"
#include "script/bind_chain.h"
#include "script/bind_channel.h"
#include "script/bind_check.h"
#include "script/bind_constraint.h"
#include "script/bind_drive.h"
#include "script/bind_layer.h"
#include "script/bind_pose.h"
#include "script/bind_rig.h"
#include "script/bind_set.h"
#include "script/bind_solve.h"
#include "script/bind_switch.h"
#include "script/help.h"
#include "script/library.h"
#include "script/loader.h"
#include "script/picture.h"
#include "script/use.h"
#include "script/value.h"

void fid_open(lua_State *L) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    lua_createtable(L, 0, 16);
    fid_value_open(L);
    fid_rig_open(L);
    fid_bone_open(L);
    fid_chain_open(L);
    fid_constraint_open(L);
    fid_channel_open(L);
    fid_drive_open(L);
    fid_layer_open(L);
    fid_set_open(L);
    fid_pose_open(L);
    fid_solve_open(L);
    fid_switch_open(L);
    fid_check_open(L);
    fid_picture_open(L);
    fid_use_open(L);
    fid_help_open(L);
    fid_library_set_key_order(fid_host_of(L), fid_bone_rank);
    fid_library_seal(L, "fid");
    fid_loader_set_fid(L);
}
