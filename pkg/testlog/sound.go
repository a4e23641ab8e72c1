package testlog

import (
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

// Sound fails where a recording breaks the promises of its type: instants
// strictly increase, columns are of one length, values finite, positions on the
// Earth, and speeds not negative, except in a table, which may hold signed ones.
func Sound(t testing.TB, rec *recording.Recording) {
	t.Helper()
	for _, tr := range rec.Tracks {
		increasing(t, tr.Name, tr.Nanos())
		for c := range recording.Column(recording.Columns) {
			if col := tr.Col(c); col != nil {
				column(t, tr, c, col, rec.Format == "csv")
			}
		}
	}
	if a := rec.Accel; a != nil {
		increasing(t, "acceleration", a.NanoUTC)
		if len(a.X) != a.Len() || a.Y != nil && len(a.Y) != a.Len() || a.Z != nil && len(a.Z) != a.Len() {
			t.Fatal("axes of different lengths")
		}
	}
	for _, g := range rec.Problems.Groups() {
		if g.Count < len(g.Kept) || len(g.Kept) == 0 || g.First().Text == "" {
			t.Fatalf("%d problems %s, %d kept", g.Count, g.Kind, len(g.Kept))
		}
	}
}

func increasing(t testing.TB, name string, nano []int64) {
	t.Helper()
	for i := 1; i < len(nano); i++ {
		if nano[i] <= nano[i-1] {
			t.Fatalf("%s: record %d is not later than the one before", name, i)
		}
	}
}

func column(t testing.TB, tr *recording.Track, c recording.Column, col []float64, signed bool) {
	t.Helper()
	if len(col) != tr.Len() {
		t.Fatalf("%s: column %d has %d values for %d fixes", tr.Name, c, len(col), tr.Len())
	}
	limit := math.MaxFloat64
	switch c {
	case recording.LatDeg:
		limit = 90
	case recording.LonDeg:
		limit = 180
	}
	for i, v := range col {
		if math.Abs(v) > limit || c == recording.Speed && v < 0 && !signed {
			t.Fatalf("%s: column %d of fix %d is %v", tr.Name, c, i, v)
		}
	}
}

// Dump prints a recording bit for bit, for the comparison of two ways to read.
func Dump(r *recording.Recording, err error) string {
	var b strings.Builder
	fmt.Fprintln(&b, err, r.Format, r.Undated, r.Clock, r.Logger)
	for _, tr := range r.Tracks {
		fmt.Fprintln(&b, tr.Name, tr.Source, tr.SpeedStep, tr.SpeedUnit, tr.TimeStep, tr.Nanos())
		for c := range recording.Column(recording.Columns) {
			for _, v := range tr.Col(c) {
				fmt.Fprintf(&b, "%x ", math.Float64bits(v))
			}
			fmt.Fprintln(&b)
		}
	}
	fmt.Fprintln(&b, r.Accel, r.Marks)
	for _, g := range r.Problems.Groups() {
		fmt.Fprintln(&b, g.Kind, g.Effect, g.Count, g.Kept)
	}
	return b.String()
}

// Loss compares the best track of a damaged copy with that of the whole log, by
// time of day, since a date may hang on one damaged record: how many fixes of
// the copy are not in the log or have another speed, and how many are missing.
func Loss(whole, copy *recording.Recording) (changed, lost int) {
	was, is := speeds(whole), speeds(copy)
	for at, v := range is {
		if w, ok := was[at]; !ok || w != v {
			changed++
		}
	}
	for at := range was {
		if _, ok := is[at]; !ok {
			lost++
		}
	}
	return changed, lost
}

// speeds maps times of day to the bits of the speed.
func speeds(rec *recording.Recording) map[int64]uint64 {
	tr := rec.Primary()
	if tr == nil {
		return nil
	}
	m := make(map[int64]uint64, tr.Len())
	for i := range tr.Len() {
		at := tr.TimeAt(i)
		m[int64(at.Sub(at.Truncate(24*time.Hour)))] = math.Float64bits(tr.Value(recording.Speed, i))
	}
	return m
}

// Allocated returns the bytes that f allocates. Tests that use it must not run
// beside others.
func Allocated(f func()) uint64 {
	var a, b runtime.MemStats
	runtime.ReadMemStats(&a)
	f()
	runtime.ReadMemStats(&b)
	return b.TotalAlloc - a.TotalAlloc
}

// Growth reads an input of n units and one of 2n and fails where the second
// allocates more than 2.5 times as much: what allocates beyond proportion also
// takes time beyond it, and unlike time it is the same on every run. perByte
// bounds what one byte of the input may allocate.
func Growth(t *testing.T, name string, n int, text func(n int) []byte, perByte float64, read Reader) {
	t.Helper()
	var cost [2]float64
	var size [2]int
	for i := range cost {
		b := text(n << i)
		size[i] = len(b)
		_, _ = read(b[:len(b)/8]) // what is only made once
		cost[i] = float64(Allocated(func() {
			rec, _ := read(b)
			Sound(t, rec)
		}))
	}
	const fixed = 4 << 20 // buffers of their own size
	if cost[1] > 2.5*cost[0]+fixed {
		t.Errorf("%s: %d bytes allocate %.0f, %d bytes %.0f", name, size[0], cost[0], size[1], cost[1])
	}
	if cost[1] > perByte*float64(size[1])+fixed {
		t.Errorf("%s: %d bytes allocate %.0f, %.0f for each", name, size[1], cost[1], cost[1]/float64(size[1]))
	}
}
