#ifndef FID_SCRIPT_WORDS_H
#define FID_SCRIPT_WORDS_H

#include <lua.h>

/// core.words(text): the words of a text of Lua, a list of { kind = "name", "keyword", "number", "text" or "mark", text
/// =, from =, to = } with the places of its first and last byte from 1. Blanks and comments are none; a text that is no
/// Lua gives words, too. In C, since the text is gone through byte by byte.
int fid_words_push(lua_State *L);

/// core.keywords(): the list of the keywords of Lua.
int fid_words_push_keywords(lua_State *L);

#endif
