// Package estimate turns a log's speed samples into an estimate of the motion in
// each run: distance, speed and acceleration as functions of time with their
// joint uncertainty.
//
// Model. At rest the vehicle has no speed. From the launch on, acceleration is a
// the build-up of tractive force over a time between nothing and a second or so, in one
// of three shapes, plus integrated white jerk whose intensity is fitted in short
// blocks, so that a smooth pull is smoothed hard and a shift or a spinning wheel
// is followed. A speed sample is the along-track speed plus an error that is
// correlated from one sample to the next (first-order autoregression), with the
// variance of the printed step and of the instant on top. Launch instant,
// build-up time and shape (package ramp) are integrated over: the estimate is a weighted
// set of paths, one for each build-up, each a normal distribution from a fixed-interval
// smoother. Samples
// that a receiver shows as 0 below its hold threshold only say that speed was
// below it.
//
// An aligned accelerometer (Samples.Accel) is a second measurement of the same
// states: its sample is the acceleration plus a bias that wanders slowly and
// begins at rest with what the standstill told of it, plus vibration whose
// variance is fitted in the run. The uncertainty of the clock offset between the
// sensors is integrated over like the launch.
//
// States are distance in m, speed in m/s, acceleration and full thrust in m/s²,
// the error of a speed sample in m/s and the accelerometer's bias in m/s², between
// nodes no more than 0.05 s apart, 0.1 s from three seconds after the launch where the
// samples are. Instants are in s on the samples' clock.
//
// Limits. Speed is along the track and horizontal, as receivers report it; a
// launch backwards is seen as forwards. Below about 4 samples a second the
// build-up is not seen without an accelerometer and its prior carries the from-rest
// time. Error that all
// samples share (scale, delay) is not seen either: callers add an allowance.
//
// Sources: design notes in docs/method.md; de Jong (1988, 1989) and Durbin and
// Koopman (2012) for the smoother; GUM for combination.
package estimate
