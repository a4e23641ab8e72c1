// Package align finds out how an accelerometer sits in a vehicle and on whose
// clock it runs, by holding it against a speed, so that its samples can be used
// as forward acceleration (package accel).
//
// Model. The sensor may be mounted any way round. Up comes from the standstills.
// A first clock offset is where the slope of the speed over about a second agrees
// best with the axes. Then gain, direction, offset and drift are the unknowns of
// a regression by generalised least squares: the speed less the integral of the
// samples is a wander, in which the sensor's noise adds up and the slope of the
// ground changes, plus the receiver's noise; a Kalman filter whitens it, and the
// likelihood chooses how strong each part is. What correlation the whitened
// residuals have left widens the uncertainties.
//
// A body that pitches up under acceleration turns the sensor into gravity,
// which reads as more acceleration in proportion: that is part of the gain.
//
// States of the whitening filter are the speed that adds up, in m/s, and the bias,
// in m/s². Unknowns are the gain in each direction, the clock offset in s and its
// drift in s/s.
//
// Limits. The sensor must be fixed to the body and not move on it. Gain is one
// number, so a body that pitches otherwise in braking than in accelerating is
// averaged. The clock is straight: offset and drift, no steps. Bias and ground
// slope are one and the same to a sensor.
package align
