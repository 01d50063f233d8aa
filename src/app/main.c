#include "app/command.h"

#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

/// Where standard input, output or error is closed, the next file that is opened would be taken for it. What stands in
/// its place refuses to be read or written as a closed one does.
static void fill_standard_files(void) {
    for (int file = 0; file <= 2; file++) {
        if (fcntl(file, F_GETFD) < 0) {
            (void)open("/dev/null", file == 0 ? O_WRONLY : O_RDONLY);
        }
    }
}

int main(int argc, char **argv) {
    // A reader that goes away ends the command by its status, not by a signal in the middle of what it writes.
    (void)signal(SIGPIPE, SIG_IGN);
    // So is a file that grows beyond what the shell allows: what was begun is taken back.
    (void)signal(SIGXFSZ, SIG_IGN);
    fill_standard_files();
    return fid_command_run(argc - 1, argv + 1);
}
