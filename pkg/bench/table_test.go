package bench

import (
	"fmt"
	"runtime"
	"strings"
)

// orAll is n processors, all for 0.
func orAll(n int) int {
	if n == 0 {
		return runtime.NumCPU()
	}
	return n
}

var titles = map[string]string{"nmea": "NMEA 0183", "fit": "FIT", "csv": "CSV", "gpx": "GPX"}

// logSays describes the log of a format.
var logSays = map[string]string{
	"nmea": "RMC, VTG and GGA at 10 Hz.",
	"fit":  "Records of 27 bytes with position, altitude, speed and distance.",
	"csv":  "Eight columns at 25 Hz: time, position, altitude, speed, course, HDOP, satellites.",
	"gpx":  "Points at 10 Hz with altitude, time and, in the extensions, speed.",
}

// table writes the document; busy is how many other programs ran.
func table(all []result, busy float64) string {
	var b strings.Builder
	b.WriteString(`# What reading a log costs

Written by ` + "`make bench`" + `, not by hand. Logs of an invented drive are written to disk, read by processes of their own, and
deleted. Times are from the file to the recording (parsed, in SI, in columns), the middle one of three runs, one run above
500 MB; a program's include its start. They are processor time of all threads, which other programs disturb little; only
the column for all cores is by the clock. Single times depend on the machine: look at ratios within a table.

`)
	fmt.Fprintf(&b, "Measured on %s.\n", machine())
	if busy > 0.5 {
		fmt.Fprintf(&b, "When it began, other programs asked for %.1f of its processors: the column by the clock is too low.\n", busy)
	}
	for _, r := range all {
		r.write(&b)
	}
	return b.String()
}

func (r *result) write(b *strings.Builder) {
	fmt.Fprintf(b, "\n## %s\n\n%s\n\n", titles[r.format], logSays[r.format])
	fmt.Fprintf(b, "| log | %ss | processor time | MB/s | million %ss/s | MB/s by the clock, all cores | allocations a %s | columns kept | peak memory | peak over columns |\n",
		r.record, r.record, r.record)
	b.WriteString("|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|\n")
	for _, s := range r.sized {
		mb := float64(s.bytes) / 1e6
		fmt.Fprintf(b, "| %s | %d | %.3f s | %.0f | %.2f | %.0f | %.4f | %s | %s | %s |\n", megabytes(s.bytes), s.records, s.one.CPU,
			mb/s.one.CPU, float64(s.records)/1e6/s.one.CPU, mb/s.all.Wall, float64(s.one.Mallocs)/float64(s.records),
			megabytes(s.one.Kept), known(s.one.peak), times(s.one.peak, s.one.Kept))
	}
	if n := len(r.sized); n > 1 {
		first, last := r.sized[max(n-3, 0)], r.sized[n-1]
		fmt.Fprintf(b, "\nCost against size: from %s to %s, %.0f times the size takes %.1f times the processor time.\n", megabytes(first.bytes),
			megabytes(last.bytes), float64(last.bytes)/float64(first.bytes), last.one.CPU/first.one.CPU)
	}
	if r.peerBytes == 0 {
		return
	}
	fmt.Fprintf(b, "\nThe same log of %s, read by others in the same run:\n\n", megabytes(r.peerBytes))
	b.WriteString("| reader | does | processor time | MB/s | the first row is | peak memory |\n|---|---|---:|---:|---:|---:|\n")
	mb := float64(r.peerBytes) / 1e6
	fmt.Fprintf(b, "| fromrest | keeps a recording | %.2f s | %.0f | 1 | %s |\n", r.peerOne.CPU, mb/r.peerOne.CPU, known(r.peerOne.peak))
	fmt.Fprintf(b, "| fromrest, format told by content, with SHA-256 | keeps a recording | %.2f s | %.0f | %.2f times as fast | %s |\n",
		r.any.CPU, mb/r.any.CPU, r.any.CPU/r.peerOne.CPU, known(r.any.peak))
	for _, p := range r.peers {
		fmt.Fprintf(b, "| %s | %s | %.2f s | %.1f | %.2f times as fast | %s |\n", p.name, p.does, p.cost.CPU, mb/p.cost.CPU,
			p.cost.CPU/r.peerOne.CPU, known(p.cost.peak))
	}
	for _, a := range r.absent {
		fmt.Fprintf(b, "\nLeft out: %s.\n", strings.TrimSuffix(a, "."))
	}
}

// known prints a size, a dash where it is not known.
func known(bytes int64) string {
	if bytes == 0 {
		return "-"
	}
	return megabytes(bytes)
}

func times(a, b int64) string {
	if a == 0 || b == 0 {
		return "-"
	}
	return fmt.Sprintf("%.2f", float64(a)/float64(b))
}
