#ifndef FID_BASE_CLOCK_H
#define FID_BASE_CLOCK_H

/// Seconds of a clock that runs evenly; only differences mean something.
double fid_clock_seconds(void);

#endif
