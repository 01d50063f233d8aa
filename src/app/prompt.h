#ifndef FID_APP_PROMPT_H
#define FID_APP_PROMPT_H

#include "base/text.h"
#include "base/watch.h"

/// Lines of a terminal, with editing and what was entered before. One at a time in a process: signals and the modes of
/// the terminal are those of the process. From fid_prompt_open on a SIGINT that nobody waits for is forgotten.
typedef struct fid_prompt fid_prompt;

/// What came of asking for a line.
typedef enum fid_prompt_end {
    FID_PROMPT_LINE,  ///< a line
    FID_PROMPT_LEFT,  ///< Ctrl-C, or a SIGINT: the line is given up, and what was typed after it is kept
    FID_PROMPT_SAVED, ///< a watched file has changed while nothing was typed
    FID_PROMPT_END,   ///< the end of input
} fid_prompt_end;

/// Puts into `out` how a line goes on that is typed so far (up to the cursor), as script/complete.h tells it.
typedef void (*fid_prompt_complete)(void *user, const char *line, fid_text *out);

/// Begins with standard input and output, which must be a terminal; NULL where there is no memory. Sets the character
/// set of the process to that of the environment, or to UTF-8 where the environment names none. Tab asks `complete`.
fid_prompt *fid_prompt_open(fid_prompt_complete complete, void *user);

/// From now on a change of what is watched ends a line in which nothing is typed yet, once nothing has changed for
/// `quiet` seconds; a line that is begun is asked for first. NULL: nothing is watched.
void fid_prompt_watch(fid_prompt *prompt, fid_watch *watch, double quiet);

/// Asks for a line, showing `words`. `*line`, without its end, holds until the next call.
fid_prompt_end fid_prompt_ask(fid_prompt *prompt, const char *words, const char **line);

/// Takes what was entered before in sessions of this folder (app/history.h), and keeps there what is from now on.
void fid_prompt_recall(fid_prompt *prompt, const char *folder);

/// Keeps a form for recall with the arrows; one of several lines is recalled as a whole.
void fid_prompt_remember(fid_prompt *prompt, const char *form);

/// Puts the signals back; NULL is fine.
void fid_prompt_close(fid_prompt *prompt);

#endif
