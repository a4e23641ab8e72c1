// Package timing measures a run: times to speeds and distances from the launch
// and from the rollout, speed-to-speed pulls, trap speeds and braking, each with
// its uncertainty.
//
// Model. A run is a set of paths with weights (package estimate), each a normal
// distribution of the whole motion. On every path a time is the difference of two
// events, with a variance from the covariance of the states at both; over the
// paths the time is a mixture. What all samples share, scale and offset of the
// speed, is added as a standard uncertainty. The half-width holds 95 % of the
// mixture, widened by Student's factor for what is known of the noise.
//
// Units. Seconds, metres, m/s and m/s²; U95 is half of the 95 % interval.
//
// Limits. A time from rest needs a launch in the estimate. A log has no brake
// trigger: where braking sets in is taken from the deceleration.
package timing
