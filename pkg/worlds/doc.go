// Package worlds drives standing starts that the estimator does not expect, through
// receivers that it does not expect either. It shares no code, no shape and no number
// with package synth or with the estimator's priors, so that an interval that holds here
// does not hold by construction. It serves the table at the head of docs/accuracy.md and
// a guard among the tests; no command uses it.
//
// # Model
//
// A World is a vehicle, a foot, what happens before the launch, and a receiver. Drive
// integrates six starts of it along a straight in steps of a millisecond: thrust that a
// foot feeds in, then limited by power, less drag; standing still and braking between
// them. Observe logs that motion: body pitch at the antenna, the receiver's filter, noise
// of two velocity components, holds and steps, then NMEA. The truth is kept beside it.
//
// Units are SI. Seconds count from the begin of the log.
//
// # Limits
//
// One straight, one direction, no grade, no wind; noise is simulated, if of many kinds.
// The ranges are assumed, but for build-ups: those of ordinary and of brisk departures
// are the facts measured on real recordings that docs/accuracy.md names.
package worlds
