// Package inertial reckons speed from an accelerometer that has no speed beside
// it, between the standstills that its own stillness betrays.
//
// Model. The log is cut into short pieces; stretches of them that are calm and
// read the same throughout look still. At a steady speed a vehicle looks still as
// well: of all chains of such stretches the one is taken that stands longest and
// calmest while the speed comes to naught from each to the next. Forward is the
// level direction that varies most and still comes to naught between standstills.
// Between two of them the bias goes from one's to the other's, and what speed is
// left at the second is taken out by a bias that grows and dies away in between.
//
// The state is the speed, in m/s on an even grid; the bias in m/s² is tied down at
// every standstill. Times are in s since the first sample.
//
// Limits. Gain cannot be told and is assumed; a standstill on both sides is needed;
// the first motion of the log is taken to be forward.
package inertial
