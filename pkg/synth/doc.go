// Package synth simulates test sessions whose truth is known: a vehicle that
// leaves the line again and again, a receiver and an accelerometer that see it
// with the faults real ones have, and logs of it in any of the formats.
//
// # Model
//
// The vehicle is a point mass with an effective mass: thrust at the wheels,
// limited by torque, power and grip, against drag, rolling resistance and
// grade. Thrust builds up over 40-250 ms, shifts interrupt it, spinning wheels
// make it fluctuate. It is integrated by a fourth-order Runge-Kutta method on a
// grid of 1-4 ms with the shifts as exact events, and speed between two nodes
// is the cubic through speeds and accelerations, so that every crossing is the
// root of a known polynomial. Everything is seeded: same seed, same bytes.
//
// # Units and data
//
// All in SI, headings in radians clockwise from true north unless a name ends in
// Deg, shares from 0 to 1. The vehicles of vehicles.go, the session of demo.go and
// what a driver does between runs are invented.
//
// # Limits
//
// It is a source of test data, not a prediction: no tyre curve, no suspension,
// no engine map finer than a power with a sag after each shift.
package synth
