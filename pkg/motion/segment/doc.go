// Package segment finds the runs in a series of speed samples: standing starts,
// rolling accelerations and braking runs, among creeping, waiting and turning round.
//
// Model. A sample at or below a bound, which grows with the noise and the step of
// the samples, looks at rest. A standing start is a stretch that leaves a
// standstill of 0.3 s or more and lasts until speed falls away from its highest
// value. It is a run in its own right whatever happens in it; what a reader must
// know is a flag. A pull begins in a valley of the speed, a braking where
// deceleration sets in before a standstill.
//
// Units. Speeds are in m/s, times in s on the samples' clock, courses in degrees
// from true north.
//
// Limits. Only speed, course and time are looked at; two launches without a
// standstill between them are one run with a lift.
package segment
