#include "app/apart.h"

#include "app/print.h"
#include "base/clock.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MOST_BYTES = 256 << 20, MOST_MESSAGES = 1 << 20 };

/// One part on its way.
typedef struct part {
    pid_t process;          ///< 0: not begun, or over
    FILE *bytes, *messages; ///< as the process writes them
    bool is_over;
    double begun;
    fid_apart_end end;
} part;

int32_t fid_apart_processors(void) {
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    return processors < 1 ? 1 : processors > FID_APART_MOST ? FID_APART_MOST : (int32_t)processors;
}

/// The process of a part; does not return.
static void work_alone(const fid_apart *apart, int32_t index, const part *now) {
    fid_text out = {0};
    dup2(fileno(now->messages), STDERR_FILENO);
    apart->work(apart->user, index, &out);
    fflush(stderr);
    bool is_whole = !out.failed && fwrite(out.at ? out.at : "", 1, (size_t)out.count, now->bytes) == (size_t)out.count;
    is_whole = fflush(now->bytes) == 0 && is_whole;
    _exit(is_whole ? FID_EXIT_FINE : FID_EXIT_FILE);
}

static void close_files(part *now) {
    if (now->bytes) {
        fclose(now->bytes);
    }
    if (now->messages) {
        fclose(now->messages);
    }
    now->bytes = now->messages = NULL;
}

static fid_code start(const fid_apart *apart, int32_t index, part *now, fid_error *err) {
    now->bytes = tmpfile();
    now->messages = tmpfile();
    fflush(stdout);
    fflush(stderr);
    now->begun = fid_clock_seconds();
    now->process = now->bytes && now->messages ? fork() : -1;
    if (now->process == 0) {
        work_alone(apart, index, now);
    }
    if (now->process < 0) {
        now->process = 0;
        fid_code code = fid_fail(err, FID_IO, "a process for a part of the work cannot be begun: %s", strerror(errno));
        close_files(now);
        return code;
    }
    return FID_OK;
}

static void read_back(FILE *file, int32_t most, fid_text *out) {
    char bytes[4096];
    size_t count;
    rewind(file);
    while (out->count < most && !out->failed && (count = fread(bytes, 1, sizeof bytes, file)) > 0) {
        fid_text_add_bytes(out, bytes, count);
    }
}

static void finish(part *now, int wait_status) {
    fid_apart_end *end = &now->end;
    end->seconds = fid_clock_seconds() - now->begun;
    end->signal = WIFSIGNALED(wait_status) ? WTERMSIG(wait_status) : 0;
    end->status = WIFEXITED(wait_status) ? WEXITSTATUS(wait_status) : FID_EXIT_UNUSABLE;
    end->is_whole = !end->signal && end->status == FID_EXIT_FINE;
    read_back(now->messages, MOST_MESSAGES, &end->messages);
    if (end->is_whole) {
        read_back(now->bytes, MOST_BYTES, &end->bytes);
    }
    close_files(now);
    now->process = 0;
    now->is_over = true;
}

/// Waits until a part is over, and gives its index; -1 where none is running.
static int32_t wait_for_one(const fid_apart *apart, part *parts) {
    for (;;) {
        int wait_status = 0;
        pid_t process = waitpid(-1, &wait_status, 0);
        if (process < 0 && errno != EINTR) {
            return -1;
        }
        for (int32_t i = 0; i < apart->count && process > 0; i++) {
            if (parts[i].process == process) {
                finish(&parts[i], wait_status);
                return i;
            }
        }
    }
}

static void clear(part *now) {
    fid_text_clear(&now->end.bytes);
    fid_text_clear(&now->end.messages);
}

fid_code fid_apart_run(const fid_apart *apart, fid_error *err) {
    part *parts = fid_memory_get_zero((size_t)apart->count + 1, sizeof *parts);
    fid_code code = parts ? FID_OK : fid_no_memory(err);
    int32_t begun = 0, done = 0, running = 0;
    while (parts && ((begun < apart->count && !code) || running > 0)) {
        while (!code && begun < apart->count && running < apart->at_once) {
            code = start(apart, begun, &parts[begun], err);
            begun++;
            running += code ? 0 : 1;
        }
        int32_t over = running > 0 ? wait_for_one(apart, parts) : -1;
        if (over < 0) {
            break;
        }
        running--;
        if (apart->over) {
            apart->over(apart->user, over, &parts[over].end);
        }
        for (; done < begun && parts[done].is_over; done++) {
            apart->done(apart->user, done, &parts[done].end);
            clear(&parts[done]);
        }
    }
    for (int32_t i = done; parts && i < begun; i++) {
        clear(&parts[i]);
    }
    fid_memory_free(parts);
    return code;
}

static void add_plain(const char *text, size_t length, fid_text *out) {
    fid_text copy = {0};
    fid_text_add_bytes(&copy, text, length);
    if (copy.at) {
        fid_print_add_plain(copy.at, out);
    }
    fid_text_clear(&copy);
}

/// Of a part that did not come to its end the last line "FILE: error: TEXT", where ": error:" stands in it, and where
/// it ends; NULL where there is none.
static const char *find_reason(const fid_apart_end *end, const char **mark, const char **behind) {
    static const char words[] = ": error: ";
    const char *line = NULL;
    if (end->is_whole || end->signal) {
        return NULL;
    }
    for (const char *at = end->messages.at; at && *at;) {
        const char *next = at + strcspn(at, "\n"), *found = strstr(at, words);
        if (found && found < next) {
            line = at;
            *mark = found;
            *behind = next;
        }
        at = next + (*next == '\n' ? 1 : 0);
    }
    return line;
}

void fid_apart_print_messages(const fid_apart_end *end) {
    const char *mark, *behind, *reason = find_reason(end, &mark, &behind);
    const char *at = end->messages.at ? end->messages.at : "";
    if (reason) {
        fwrite(at, 1, (size_t)(reason - at), stderr);
        at = behind + (*behind == '\n' ? 1 : 0);
    }
    fputs(at, stderr);
}

void fid_apart_add_reason(const fid_apart_end *end, fid_text *file, fid_text *out) {
    const char *mark, *behind, *reason = find_reason(end, &mark, &behind);
    if (reason) {
        add_plain(reason, (size_t)(mark - reason), file);
        mark += strlen(": error: ");
        add_plain(mark, (size_t)(behind - mark), out);
    } else if (end->signal) {
        fid_text_addf(out, "its process was ended by signal %d", end->signal);
    } else {
        fid_text_addf(out, "its process ended with status %d", end->status);
    }
}
