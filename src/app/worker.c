#include "app/worker.h"

#include "app/load.h"
#include "app/print.h"
#include "script/session.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#ifdef __linux__
#include <sys/prctl.h>
#endif
#include <sys/select.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

/// What is asked of the process that is awake, and what it answers.
typedef enum kind {
    ASK_WHOLE,  ///< text
    ASK_RUN,    ///< text
    ASK_WORDS,  ///< text; answered with TELL_WORDS, the words that fit
    ASK_SLEEP,  ///< answered with TELL_DONE before it does
    TELL_BEGUN, ///< `number` is the process that keeps the state before the form
    TELL_WHOLE, ///< `number` is 0 or 1
    TELL_WORDS, ///< text
    TELL_DONE,
    TELL_SEEN, ///< done, and nothing changed: no new state
    TELL_FAILED,
    TELL_LOST,
    TELL_WISH,     ///< done, and wants `number` forms back
    TELL_GIVEN_UP, ///< as TELL_WISH, but the form changed something: who ran it is gone
    TELL_ENDED,    ///< the process that ran the form is gone without a word; `number` is the one that goes on
} kind;

/// What a process that runs a form tells the one that keeps the state before it.
enum { GOES_ON = 'g', GIVES_UP = 'u' };

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

static volatile sig_atomic_t is_interrupted; ///< in the process that runs a form, and where somebody waits for it
static volatile sig_atomic_t is_woken;

static void note_interrupt(int number) {
    (void)number;
    is_interrupted = 1;
}

static void note_wake(int number) {
    (void)number;
    is_woken = 1;
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
    int runner; ///< from the process that runs a form of which this one keeps the state before, or -1
} server;

static void print_value(void *user, const char *line) {
    (void)user;
    fid_print_line(stdout, line);
    fflush(stdout);
}

/// Sleeps until this state is wanted again: because it is woken, or because the form that began from it did not
/// succeed.
static void sleep_until_wanted(server *now) {
    sigset_t awake;
    sigprocmask(SIG_SETMASK, NULL, &awake);
    sigdelset(&awake, SIGUSR1);
    while (!is_woken) {
        fd_set ready;
        FD_ZERO(&ready);
        FD_SET(now->life, &ready);
        if (now->runner >= 0) {
            FD_SET(now->runner, &ready);
        }
        int highest = now->runner > now->life ? now->runner : now->life;
        if (pselect(highest + 1, &ready, NULL, NULL, NULL, &awake) <= 0) {
            continue;
        }
        if (now->runner >= 0 && FD_ISSET(now->runner, &ready)) {
            char said = 0;
            bool is_told = read_all(now->runner, &said, 1, NULL);
            close(now->runner);
            now->runner = -1;
            if (!is_told) {
                (void)send_message(now->link, TELL_ENDED, (int32_t)getpid(), NULL);
            }
            if (said != GOES_ON) {
                break;
            }
        } else if (FD_ISSET(now->life, &ready)) {
            _exit(0);
        }
    }
    is_woken = 0;
}

/// Runs the form. Where it does not succeed this process ends, and `keeper`, which hears of it by `to_keeper`, goes on
/// in its place.
static void run_form(server *now, const char *form, pid_t keeper, int to_keeper) {
    fid_report report = {0};
    fid_session_wish wish = {0};
    is_interrupted = 0;
    handle(SIGINT, note_interrupt);
    (void)send_message(now->link, TELL_BEGUN, (int32_t)keeper, NULL);
    fid_code code = fid_session_run(now->session, form, &wish, &report);
    handle(SIGINT, SIG_IGN);
    fid_print_report(&report, "session", NULL);
    fid_report_clear(&report);
    fflush(stderr);
    bool is_lost = ferror(stdout) != 0, is_good = !is_lost && !code;
    kind told = is_lost          ? TELL_LOST
                : code           ? TELL_FAILED
                : wish.undo != 0 ? (wish.is_look ? TELL_WISH : TELL_GIVEN_UP)
                : wish.is_look   ? TELL_SEEN
                                 : TELL_DONE;
    if (is_good && wish.is_look) {
        // This state is the one before, and needs no keeper.
        (void)kill(keeper, SIGKILL);
    } else {
        char said = told == TELL_DONE ? GOES_ON : GIVES_UP;
        (void)write_all(to_keeper, &said, 1);
    }
    (void)send_message(now->link, told, wish.undo, NULL);
    if (told != TELL_DONE && !(is_good && wish.is_look)) {
        _exit(0);
    }
    close(to_keeper);
}

/// Runs a form, with a copy of this process that keeps the state before it. Returns in the process that is awake then.
static void run_kept(server *now, const char *form) {
    int to_keeper[2];
    fflush(stdout);
    fflush(stderr);
    // The copy keeps the state, not the process that goes on: copies of copies would take longer each time.
    pid_t keeper = pipe(to_keeper) == 0 ? fork() : -1;
    if (keeper < 0) {
        fid_error err = {0};
        (void)fid_fail(&err, FID_LIMIT, "the system gives no further process: %s", strerror(errno));
        fid_print_error("session", &err);
        (void)send_message(now->link, TELL_SEEN, 0, NULL);
    } else if (keeper == 0) {
        close(to_keeper[1]);
        now->runner = to_keeper[0];
        is_woken = 0;
        sleep_until_wanted(now);
    } else {
        close(to_keeper[0]);
        run_form(now, form, keeper, to_keeper[1]);
    }
}

/// Seconds for a look at how a text goes on, and bytes of what is told.
enum { MOST_SECONDS = 2, MOST_BYTES = 1 << 20 };

/// All that comes out of a pipe before its end, in time.
static void read_in_time(int from, fid_text *out) {
    char some[4096];
    for (ssize_t count = 1; count > 0 && out->count < MOST_BYTES;) {
        fd_set ready;
        FD_ZERO(&ready);
        FD_SET(from, &ready);
        struct timeval wait = {.tv_sec = MOST_SECONDS};
        count = select(from + 1, &ready, NULL, NULL, &wait) > 0 ? read(from, some, sizeof some) : 0;
        fid_text_add_bytes(out, some, count > 0 ? (size_t)count : 0);
    }
}

/// Tells how a text goes on. A copy of this process looks: whatever comes of that, the state stays as it is.
static void tell_words(server *now, const char *text) {
    int out[2];
    fid_text words = {0};
    fflush(stdout);
    fflush(stderr);
    pid_t copy = pipe(out) == 0 ? fork() : -1;
    if (copy == 0) {
        int nowhere = open("/dev/null", O_WRONLY);
        (void)dup2(nowhere, STDERR_FILENO);
        close(out[0]);
        fid_report ignored = {0};
        if (fid_session_complete(now->session, text, &words, &ignored) == FID_OK && words.at) {
            (void)write_all(out[1], words.at, (size_t)words.count);
        }
        _exit(0);
    }
    if (copy > 0) {
        close(out[1]);
        read_in_time(out[0], &words);
        close(out[0]);
        (void)kill(copy, SIGKILL);
    }
    (void)send_message(now->link, TELL_WORDS, 0, words.at ? words.at : "");
    fid_text_clear(&words);
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
        case ASK_WORDS:
            tell_words(now, text);
            break;
        case ASK_RUN:
            run_kept(now, text);
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
    server now = {.link = link, .life = life, .runner = -1};
    fid_recipe_options own = *options;
    own.print = print_value;
    own.print_user = NULL;
    handle(SIGINT, note_interrupt);
    handle(SIGUSR1, note_wake);
    // Nobody waits for the states that are ended.
    handle(SIGCHLD, SIG_IGN);
    sigset_t blocked;
    sigemptyset(&blocked);
    sigaddset(&blocked, SIGUSR1);
    sigprocmask(SIG_BLOCK, &blocked, NULL);
    fid_report report = {0};
    fid_code code = fid_session_open(file, &own, is_stopped, &now.session, &report);
    fid_print_report(&report, file ? file : "session", NULL);
    fid_report_clear(&report);
    fflush(stderr);
    handle(SIGINT, SIG_IGN);
    (void)send_message(link, code ? TELL_FAILED : TELL_DONE, fid_exit_status(code), NULL);
    if (code) {
        _exit(0);
    }
    serve(&now);
}

// In the process that asks

/// Whether a process has ended; one of ours stays there to be waited for.
static bool is_gone(pid_t process) {
    siginfo_t told = {0};
    if (waitid(P_PID, (id_t)process, &told, WEXITED | WNOHANG | WNOWAIT) == 0) {
        return told.si_pid == process;
    }
    return kill(process, 0) != 0 && errno == ESRCH;
}

/// Waits until something comes, a second at most, and not where a SIGINT came.
static bool is_ready(int link) {
    fd_set ready;
    FD_ZERO(&ready);
    FD_SET(link, &ready);
    struct timeval wait = {.tv_sec = 1};
    return select(link + 1, &ready, NULL, NULL, &wait) > 0;
}

/// The next answer; false where nobody is there to give one. A SIGINT that comes meanwhile is handed on to what runs a
/// form (`runs`), the second one as an end. `keeper` goes on where that ends (0: nobody does).
static bool receive(fid_worker *worker, bool runs, pid_t keeper, head *out) {
    int interrupts = 0;
    pid_t awake = worker->states.at[worker->now].process;
    bool was_gone = false;
    for (;;) {
        bool gives_up = false;
        if (is_ready(worker->link)) {
            if (read_all(worker->link, out, sizeof *out, &gives_up)) {
                return true;
            }
            if (!gives_up) {
                return false;
            }
        } else if (is_gone(awake) && (keeper == 0 || is_gone(keeper))) {
            // The others hold the link open. What was said before the end is still read.
            if (was_gone) {
                return false;
            }
            was_gone = true;
        }
        if (is_interrupted && runs) {
            is_interrupted = 0;
            (void)kill(awake, interrupts++ == 0 ? SIGINT : SIGKILL);
        }
    }
}

static void say(const char *format, int32_t number) {
    fid_error err = {0};
    (void)fid_fail(&err, FID_LIMIT, format, (int)number);
    fid_print_error("session", &err);
}

/// The process that is awake was ended, and not by us: with it went the state.
static fid_worker_outcome lose(void) {
    say("the process that held the session was ended from outside; begin a new one", 0);
    return FID_WORKER_LOST;
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
    bool done = send_message(worker->link, ASK_SLEEP, 0, NULL) && receive(worker, false, 0, &told);
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
    if (is_gone(worker->states.at[to].process)) {
        say("that state is gone: its process was ended from outside", 0);
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
    return change_state(worker, to) ? FID_WORKER_DONE : lose();
}

/// The form succeeded: what ran it has the next state, `keeper` the one before.
static fid_worker_outcome add_state(fid_worker *worker, pid_t keeper, const char *form) {
    end_later(worker);
    size_t length = strlen(form);
    char *copy = fid_memory_get(length + 1);
    state next = {worker->states.at[worker->now].process, copy};
    if (!copy || !fid_array_push(&worker->states, next)) {
        fid_memory_free(copy);
        fid_error err = {0};
        (void)fid_no_memory(&err);
        fid_print_error(NULL, &err);
        return FID_WORKER_LOST;
    }
    memcpy(copy, form, length + 1);
    worker->states.at[worker->now++].process = keeper;
    return FID_WORKER_DONE;
}

/// The process that ran the form ended without a word to us: a limit has said itself what was wrong, a signal has not.
static void say_end(pid_t ended) {
    int status = 0;
    if (waitpid(ended, &status, 0) == ended && !WIFSIGNALED(status)) {
        return;
    }
    say(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL ? "stopped" : "the form was ended by signal %d",
        WIFSIGNALED(status) ? WTERMSIG(status) : 0);
}

static fid_worker_outcome run_whole(fid_worker *worker, const char *form) {
    state *now = &worker->states.at[worker->now];
    pid_t running = now->process, keeper = 0;
    head told;
    is_interrupted = 0;
    if (is_gone(running) || !send_message(worker->link, ASK_RUN, 0, form)) {
        return lose();
    }
    while (receive(worker, true, keeper, &told)) {
        switch (told.kind) {
        case TELL_BEGUN:
            keeper = (pid_t)told.number;
            continue;
        case TELL_SEEN:
            return FID_WORKER_DONE;
        case TELL_DONE:
            return add_state(worker, keeper, form);
        case TELL_WISH:
            return fulfil(worker, told.number);
        default:
            break;
        }
        now->process = told.kind == TELL_ENDED ? (pid_t)told.number : keeper;
        if (told.kind == TELL_ENDED) {
            say_end(running);
        } else if (told.kind == TELL_LOST) {
            fid_error err = {0};
            (void)fid_fail(&err, FID_IO, "standard output cannot be written");
            fid_print_error(NULL, &err);
            return FID_WORKER_LOST;
        }
        return told.kind == TELL_GIVEN_UP ? fulfil(worker, told.number) : FID_WORKER_FAILED;
    }
    return lose();
}

fid_worker_outcome fid_worker_run(fid_worker *worker, const char *form) {
    struct sigaction before;
    (void)sigaction(SIGINT, NULL, &before);
    handle(SIGINT, note_interrupt);
    fid_worker_outcome outcome = run_whole(worker, form);
    (void)sigaction(SIGINT, &before, NULL);
    return outcome;
}

fid_worker_outcome fid_worker_is_whole(fid_worker *worker, const char *text, bool *is_whole) {
    head told;
    if (is_gone(worker->states.at[worker->now].process) || !send_message(worker->link, ASK_WHOLE, 0, text) ||
        !receive(worker, false, 0, &told)) {
        return lose();
    }
    *is_whole = told.number != 0;
    return FID_WORKER_DONE;
}

void fid_worker_complete(fid_worker *worker, const char *text, fid_text *out) {
    head told;
    out->count = 0;
    if (is_gone(worker->states.at[worker->now].process) || !send_message(worker->link, ASK_WORDS, 0, text) ||
        !receive(worker, false, 0, &told)) {
        return;
    }
    char some[4096];
    for (int32_t left = told.length; left > 0;) {
        size_t count = left < (int32_t)sizeof some ? (size_t)left : sizeof some;
        if (!read_all(worker->link, some, count, NULL)) {
            break;
        }
        fid_text_add_bytes(out, some, count);
        left -= (int32_t)count;
    }
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
#ifdef PR_SET_CHILD_SUBREAPER
    // How a process ended is told to us, not to the system's first one, where its parent is gone already.
    (void)prctl(PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0);
#endif
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
    bool is_there = fid_array_push(&worker->states, begun);
    if (is_there && receive(worker, false, 0, &told) && told.kind == TELL_DONE) {
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
    // All that became ours to wait for are ended now.
    while (waitpid(-1, NULL, 0) > 0) {
    }
    fid_array_clear(&worker->states);
    fid_memory_free(worker);
}
