#include "app/worker.h"

#include "app/load.h"
#include "app/print.h"
#include "script/session.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

/// Exit status of a copy that said itself how its form ended. No signal and no limit gives it.
enum { TOLD = 77 };

/// What is asked of the process that is awake, and what it answers.
typedef enum kind {
    ASK_WHOLE,  ///< text
    ASK_RUN,    ///< text
    ASK_SLEEP,  ///< answered with TELL_DONE before it does
    TELL_BEGUN, ///< `number` is the process that runs the form
    TELL_WHOLE, ///< `number` is 0 or 1
    TELL_DONE,
    TELL_SEEN, ///< done, and nothing changed: no new state
    TELL_FAILED,
    TELL_LOST,
    TELL_WISH,  ///< `number` forms back
    TELL_ENDED, ///< the copy ended without a word; `number` is how, as waitpid tells it
} kind;

typedef struct head {
    int32_t kind, number, length;
} head;

/// A state that was reached, and the form that led to it.
typedef struct state {
    pid_t process;
    char *form; ///< NULL for the first
} state;

struct fid_worker {
    int link; ///< to the process that is awake
    int life; ///< open as long as this process is: the others end with it
    FID_ARRAY(state) states;
    int32_t now; ///< the one that is awake
};

static volatile sig_atomic_t is_interrupted; ///< in the copy that runs a form, and where somebody waits for it
static volatile sig_atomic_t is_woken, has_lost_child;

static void note_interrupt(int number) {
    (void)number;
    is_interrupted = 1;
}

static void note_wake(int number) {
    (void)number;
    is_woken = 1;
}

static void note_child(int number) {
    (void)number;
    has_lost_child = 1;
}

static void handle(int number, void (*handler)(int)) {
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = handler;
    sigemptyset(&action.sa_mask);
    (void)sigaction(number, &action, NULL);
}

/// Reads so many bytes; false where the other side is gone, or where a signal came before the first byte and `gives_up`
/// says so.
static bool read_all(int from, void *out, size_t count, bool *gives_up) {
    char *at = out;
    for (size_t left = count; left > 0;) {
        ssize_t some = read(from, at, left);
        if (some < 0 && errno == EINTR) {
            if (gives_up && left == count) {
                *gives_up = true;
                return false;
            }
            continue;
        }
        if (some <= 0) {
            return false;
        }
        at += some;
        left -= (size_t)some;
    }
    return true;
}

static bool write_all(int to, const void *bytes, size_t count) {
    const char *at = bytes;
    while (count > 0) {
        ssize_t some = write(to, at, count);
        if (some < 0 && errno == EINTR) {
            continue;
        }
        if (some <= 0) {
            return false;
        }
        at += some;
        count -= (size_t)some;
    }
    return true;
}

static bool send_message(int to, kind what, int32_t number, const char *text) {
    head now = {(int32_t)what, number, text ? (int32_t)strlen(text) : 0};
    return write_all(to, &now, sizeof now) && write_all(to, text, (size_t)now.length);
}

// In the processes of the states

typedef struct server {
    int link, life;
    fid_session *session;
    pid_t child; ///< the copy that this state made last, or 0
} server;

static void print_value(void *user, const char *line) {
    (void)user;
    fid_print_line(stdout, line);
    fflush(stdout);
}

/// Sleeps until this state is wanted again, or until its copy ends by itself: then it answers in its place.
static void sleep_until_wanted(server *now) {
    sigset_t awake;
    sigprocmask(SIG_SETMASK, NULL, &awake);
    sigdelset(&awake, SIGUSR1);
    sigdelset(&awake, SIGCHLD);
    while (!is_woken) {
        int status = 0;
        pid_t ended;
        while ((ended = waitpid(-1, &status, WNOHANG)) > 0) {
            if (ended == now->child) {
                now->child = 0;
                if (!WIFEXITED(status) || WEXITSTATUS(status) != TOLD) {
                    (void)send_message(now->link, TELL_ENDED, status, NULL);
                }
                is_woken = 0;
                return;
            }
        }
        has_lost_child = 0;
        fd_set life;
        FD_ZERO(&life);
        FD_SET(now->life, &life);
        if (pselect(now->life + 1, &life, NULL, NULL, NULL, &awake) > 0) {
            _exit(0);
        }
    }
    is_woken = 0;
}

/// In the copy: runs the form and stays as the new state where it succeeds.
static void run_form(server *now, const char *form) {
    fid_report report = {0};
    fid_session_wish wish = {0};
    is_interrupted = 0;
    handle(SIGINT, note_interrupt);
    (void)send_message(now->link, TELL_BEGUN, (int32_t)getpid(), NULL);
    fid_code code = fid_session_run(now->session, form, &wish, &report);
    handle(SIGINT, SIG_IGN);
    fid_print_report(&report, "session", NULL);
    fid_report_clear(&report);
    fflush(stderr);
    bool is_lost = ferror(stdout) != 0;
    kind told = is_lost          ? TELL_LOST
                : code           ? TELL_FAILED
                : wish.undo != 0 ? TELL_WISH
                : wish.is_look   ? TELL_SEEN
                                 : TELL_DONE;
    (void)send_message(now->link, told, wish.undo, NULL);
    if (told != TELL_DONE) {
        _exit(TOLD);
    }
}

/// Runs a form in a copy of this process. Returns as the new state, or as the old one once it is wanted again.
static void run_copied(server *now, const char *form) {
    fflush(stdout);
    fflush(stderr);
    pid_t copy = fork();
    if (copy < 0) {
        fid_error err = {0};
        (void)fid_fail(&err, FID_LIMIT, "the system gives no further process: %s", strerror(errno));
        fid_print_error("session", &err);
        (void)send_message(now->link, TELL_FAILED, 0, NULL);
    } else if (copy == 0) {
        now->child = 0;
        is_woken = 0;
        run_form(now, form);
    } else {
        now->child = copy;
        sleep_until_wanted(now);
    }
}

/// Answers what is asked until the other side is gone.
static void serve(server *now) {
    head asked;
    while (read_all(now->link, &asked, sizeof asked, NULL)) {
        char *text = fid_memory_get((size_t)asked.length + 1);
        if (!text || !read_all(now->link, text, (size_t)asked.length, NULL)) {
            break;
        }
        text[asked.length] = '\0';
        switch (asked.kind) {
        case ASK_WHOLE:
            (void)send_message(now->link, TELL_WHOLE, fid_session_is_whole(now->session, text), NULL);
            break;
        case ASK_RUN:
            run_copied(now, text);
            break;
        case ASK_SLEEP:
        default:
            (void)send_message(now->link, TELL_DONE, 0, NULL);
            sleep_until_wanted(now);
            break;
        }
        fid_memory_free(text);
    }
    _exit(0);
}

static bool is_stopped(void) { return is_interrupted != 0; }

/// The first state: the session as it begins.
static void begin(int link, int life, const char *file, const fid_recipe_options *options) {
    server now = {.link = link, .life = life};
    fid_recipe_options own = *options;
    own.print = print_value;
    own.print_user = NULL;
    handle(SIGINT, note_interrupt);
    handle(SIGUSR1, note_wake);
    handle(SIGCHLD, note_child);
    sigset_t blocked;
    sigemptyset(&blocked);
    sigaddset(&blocked, SIGUSR1);
    sigaddset(&blocked, SIGCHLD);
    sigprocmask(SIG_BLOCK, &blocked, NULL);
    fid_report report = {0};
    fid_code code = fid_session_open(file, &own, is_stopped, &now.session, &report);
    fid_print_report(&report, file ? file : "session", NULL);
    fid_report_clear(&report);
    fflush(stderr);
    handle(SIGINT, SIG_IGN);
    (void)send_message(link, code ? TELL_FAILED : TELL_DONE, fid_exit_status(code), NULL);
    if (code) {
        _exit(TOLD);
    }
    serve(&now);
}

// In the process that asks

/// The next answer. A SIGINT that comes meanwhile is handed on to `running`, the second one as an end.
static bool receive(fid_worker *worker, pid_t *running, head *out) {
    int interrupts = 0;
    for (;;) {
        bool gives_up = false;
        if (read_all(worker->link, out, sizeof *out, &gives_up)) {
            return true;
        }
        if (!gives_up) {
            return false;
        }
        if (is_interrupted && running && *running > 0) {
            is_interrupted = 0;
            (void)kill(*running, interrupts++ == 0 ? SIGINT : SIGKILL);
        }
    }
}

static void say(const char *format, int32_t number) {
    fid_error err = {0};
    (void)fid_fail(&err, FID_LIMIT, format, (int)number);
    fid_print_error("session", &err);
}

/// Ends the states after the present one.
static void end_later(fid_worker *worker) {
    while (worker->states.count > worker->now + 1) {
        state *last = &worker->states.at[--worker->states.count];
        (void)kill(last->process, SIGKILL);
        fid_memory_free(last->form);
    }
}

/// Lets the state that is awake sleep, and another one wake.
static bool change_state(fid_worker *worker, int32_t to) {
    // Only once it says so does nobody else read what is asked next.
    head told;
    bool done = send_message(worker->link, ASK_SLEEP, 0, NULL) && receive(worker, NULL, &told);
    worker->now = to;
    return done && kill(worker->states.at[to].process, SIGUSR1) == 0;
}

/// undo(n): goes n forms back, or forth for a negative number, and says which forms those were.
static fid_worker_outcome fulfil(fid_worker *worker, int32_t back) {
    int32_t to = worker->now - back;
    if (to < 0) {
        say(worker->now == 0 ? "there is nothing to undo" : "there are only %d forms to undo", worker->now);
        return FID_WORKER_FAILED;
    }
    if (to >= worker->states.count) {
        int32_t ahead = worker->states.count - 1 - worker->now;
        say(ahead == 0 ? "there is nothing to do again" : "there are only %d forms to do again", ahead);
        return FID_WORKER_FAILED;
    }
    for (int32_t i = worker->now; i != to; i += back > 0 ? -1 : 1) {
        const char *form = worker->states.at[back > 0 ? i : i + 1].form;
        fid_text line = {0};
        fid_text_addf(&line, "%s: ", back > 0 ? "undone" : "done again");
        fid_print_add_plain(form, &line);
        if (!line.failed) {
            fid_print_line(stdout, line.at);
        }
        fid_text_clear(&line);
    }
    fflush(stdout);
    return change_state(worker, to) ? FID_WORKER_DONE : FID_WORKER_LOST;
}

static fid_worker_outcome add_state(fid_worker *worker, pid_t process, const char *form) {
    end_later(worker);
    size_t length = strlen(form);
    char *copy = fid_memory_get(length + 1);
    state next = {process, copy};
    if (!copy || !fid_array_push(&worker->states, next)) {
        fid_memory_free(copy);
        fid_error err = {0};
        (void)fid_no_memory(&err);
        fid_print_error(NULL, &err);
        return FID_WORKER_LOST;
    }
    memcpy(copy, form, length + 1);
    worker->now++;
    return FID_WORKER_DONE;
}

/// A copy that ended without a word: a limit said itself what was wrong, a signal did not.
static void say_end(int status, bool was_interrupted) {
    if (was_interrupted && WIFSIGNALED(status)) {
        say("stopped", 0);
    } else if (WIFSIGNALED(status)) {
        say("the form was ended by signal %d; the session is as it was before", WTERMSIG(status));
    }
}

static fid_worker_outcome run_whole(fid_worker *worker, const char *form) {
    pid_t running = 0;
    head told;
    is_interrupted = 0;
    if (!send_message(worker->link, ASK_RUN, 0, form)) {
        return FID_WORKER_LOST;
    }
    while (receive(worker, &running, &told)) {
        switch (told.kind) {
        case TELL_BEGUN:
            running = (pid_t)told.number;
            break;
        case TELL_DONE:
            return add_state(worker, running, form);
        case TELL_SEEN:
            return FID_WORKER_DONE;
        case TELL_FAILED:
            return FID_WORKER_FAILED;
        case TELL_WISH:
            return fulfil(worker, told.number);
        case TELL_ENDED:
            say_end(told.number, running != 0);
            return FID_WORKER_FAILED;
        case TELL_LOST:
        default:
            return FID_WORKER_LOST;
        }
    }
    say("the processes of the session are gone", 0);
    return FID_WORKER_LOST;
}

fid_worker_outcome fid_worker_run(fid_worker *worker, const char *form) {
    struct sigaction before;
    (void)sigaction(SIGINT, NULL, &before);
    handle(SIGINT, note_interrupt);
    fid_worker_outcome outcome = run_whole(worker, form);
    (void)sigaction(SIGINT, &before, NULL);
    return outcome;
}

bool fid_worker_is_whole(fid_worker *worker, const char *text) {
    head told;
    while (send_message(worker->link, ASK_WHOLE, 0, text) && receive(worker, NULL, &told)) {
        if (told.kind == TELL_WHOLE) {
            return told.number != 0;
        }
        // A state that was ended from outside between two forms: the one before answers now.
        if (told.kind == TELL_ENDED && worker->now > 0) {
            say_end(told.number, false);
            worker->now--;
            end_later(worker);
        }
    }
    return true;
}

int fid_worker_start(const char *file, const fid_recipe_options *options, fid_worker **out) {
    int link[2] = {-1, -1}, life[2] = {-1, -1};
    fid_error err = {0};
    *out = NULL;
    fid_worker *worker = fid_memory_get_zero(1, sizeof *worker);
    fid_code code = worker ? FID_OK : fid_no_memory(&err);
    if (!code && (socketpair(AF_UNIX, SOCK_STREAM, 0, link) != 0 || pipe(life) != 0)) {
        code = fid_fail(&err, FID_LIMIT, "a session cannot be begun: %s", strerror(errno));
    }
    fflush(stdout);
    fflush(stderr);
    pid_t first = code ? -1 : fork();
    if (first == 0) {
        close(link[0]);
        close(life[1]);
        begin(link[1], life[0], file, options);
    }
    if (!code && first < 0) {
        code = fid_fail(&err, FID_LIMIT, "a session cannot be begun: %s", strerror(errno));
    }
    if (link[1] >= 0) {
        close(link[1]);
    }
    if (life[0] >= 0) {
        close(life[0]);
    }
    if (code) {
        fid_print_error(NULL, &err);
        if (link[0] >= 0) {
            close(link[0]);
        }
        if (life[1] >= 0) {
            close(life[1]);
        }
        fid_memory_free(worker);
        return fid_exit_status(code);
    }
    *worker = (fid_worker){.link = link[0], .life = life[1]};
    state begun = {first, NULL};
    head told = {0};
    bool is_there = receive(worker, &first, &told) && fid_array_push(&worker->states, begun);
    if (is_there && told.kind == TELL_DONE) {
        *out = worker;
        return FID_EXIT_FINE;
    }
    fid_worker_stop(worker);
    return told.kind == TELL_FAILED ? told.number : FID_EXIT_UNUSABLE;
}

void fid_worker_stop(fid_worker *worker) {
    if (!worker) {
        return;
    }
    close(worker->life);
    close(worker->link);
    for (int32_t i = 0; i < worker->states.count; i++) {
        fid_memory_free(worker->states.at[i].form);
        (void)kill(worker->states.at[i].process, SIGKILL);
    }
    while (waitpid(-1, NULL, 0) > 0 || errno == EINTR) {
    }
    fid_array_clear(&worker->states);
    fid_memory_free(worker);
}
