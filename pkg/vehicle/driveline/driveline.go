// Package driveline works out what a driveline does with an engine's torque:
// which wheels turn, which spin, how hard each pushes, the torque on every
// shaft, the force in each gear, and the run that follows from it.
//
// # Wheels
//
// Solve finds the quasi-static balance of a Chassis on a Ground. Each wheel
// passes at most friction times load; a differential splits its torque as its
// kind allows; load moves to the rear in proportion to thrust and, over a driven
// solid axle, from one wheel to the other with the propeller shaft's torque.
// Loads and thrusts are iterated until they agree. The thrust found is the most
// that can be had with the torque given, which is what a driver with a light
// foot or a traction control gets; friction does not fall off when a wheel spins.
//
// # Runs
//
// A Powertrain is a point mass with an effective mass for its rotating parts:
// full throttle through the gears, up to the grip, against drag and rolling
// resistance, on the level in still air. Accelerate integrates speed and distance from rest and
// says at every instant what limits. FitCoast goes the other way: from the
// speeds of a coast-down to rolling resistance and drag.
//
// # Units and limits
//
// Everything is in SI: N, N·m, rad/s, m/s; ratios are engine over wheel, a grade
// is rise over run. What a vehicle's data leave out has its value in defaults.go.
// Not modelled: tyre curves, suspension travel, steering, aerodynamic lift, a
// torque converter's multiplication. Wheels on one shaft share its torque in
// proportion to their grip, as equal slip makes them.
package driveline
