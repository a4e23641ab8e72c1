// Package bench measures what reading a log costs and writes the table of
// docs/performance.md. It consists of tests alone.
//
// The model: logs of an invented drive are written to a temporary folder at
// sizes from 1 to 1000 MB and deleted after. Each is read in a process of its
// own, by the reader and by what others are installed, so that times and peak
// memory are of that reading alone. Peers that are not installed are left out,
// with a line that says so.
//
// Limits: single times depend on the machine and what else it does; ratios
// between rows of one run are what the table is for. A reader that keeps
// nothing does less than one that makes a recording, and the table says which
// does what.
package bench
