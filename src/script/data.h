#ifndef FID_SCRIPT_DATA_H
#define FID_SCRIPT_DATA_H

#include <lua.h>
#include <stddef.h>

/// fid.data(path): a JSON or CSV file of the recipe's folder. JSON objects and lists become tables, null is left out.
/// CSV becomes a list of rows, each a table by the words of the first line; what reads as a number is one. Raises with
/// the line of the file.
int fid_data_read(lua_State *L);

/// Pushes the value that a JSON text describes; `shown` names it in messages. May raise; the text must not need freeing
/// then.
void fid_data_push_json(lua_State *L, const char *text, size_t count, const char *shown);

#endif
