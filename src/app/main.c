#include "app/command.h"

#include <signal.h>

int main(int argc, char **argv) {
    // A reader that goes away is an error of writing with a message, not a silent end.
    (void)signal(SIGPIPE, SIG_IGN);
    // So is a file that grows beyond what the shell allows: what was begun is taken back.
    (void)signal(SIGXFSZ, SIG_IGN);
    return fid_command_run(argc - 1, argv + 1);
}
