// Package accel reads an accelerometer's log for what holds however the sensor
// is mounted: its rate, gaps and clipping, the running integral of its axes, the
// noise along any direction, gravity at rest, and whether it is of use at all. An
// Alignment is what others find of its mounting, with which its samples become
// forward acceleration.
//
// Model. What the sensor reads along one direction f fixed to it tells the
// vehicle's acceleration a:
//
//	a = Gain (f·s - Bias)
//
// Noise is what a parabola over 0.3 s leaves of the samples; it hangs together
// from one to the next, by vibration through a logger's filter and by a body that
// nods on its springs.
//
// Units. Samples are in m/s² as logged; a sensor that plainly logs g or mg keeps
// its numbers, and Gain holds the factor. Times are in s since the first sample.
//
// Limits. One axis or three; a sensor must give 20 samples a second, miss no more
// than a tenth of them, and be fixed to the body.
package accel
