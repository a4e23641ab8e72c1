// Package explain says why one mode is quicker than another: what limits each mode by the
// data of the sheet, what gear changes, grip, grade, wind and air cost each run, and what
// the traces tell of the vehicle.
package explain
