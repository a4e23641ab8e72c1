package format

import (
	"fmt"
	"strings"
	"testing"

	"fromrest/pkg/recording"
)

// Rows of an accelerometer at 100 Hz and of a receiver at 10 Hz.
func TestRowsOfSeveralKinds(t *testing.T) {
	accel := func(i int) string {
		return fmt.Sprintf("%.3f,%g,%.3f", 0.1+0.001*float64(i%3), 0.01*float64(i%7), 9.81+0.001*float64(i%5))
	}
	place := func(i int) string { return fmt.Sprintf("%.7f,%.7f", 52+float64(i)*0.2/111250, 1+float64(i%9)*1e-7) }
	build := func(head string, row func(i int) string) string {
		var b strings.Builder
		b.WriteString(head)
		for i := range 3000 {
			b.WriteString(row(i))
		}
		return b.String()
	}
	for name, c := range map[string]struct {
		in          string
		fixes, felt int
		from        float64 // s between the first fix and the first sample
	}{
		"blank cells": {build("time_ms,ax,ay,az,lat,lon,speed_kmh\n", func(i int) string {
			s := fmt.Sprintf("%d,%s,,,\n", i*10, accel(i))
			if i%10 == 0 {
				s += fmt.Sprintf("%d,,,,%s,72\n", i*10+3, place(i))
			}
			return s
		}), 300, 3000, 0.003},
		"one stamp for both": {build("time_ms,ax,ay,az,lat,lon,speed_kmh\n", func(i int) string {
			s := fmt.Sprintf("%d,%s,,,\n", i*10, accel(i))
			if i%10 == 0 {
				s += fmt.Sprintf("%d,,,,%s,72\n", i*10, place(i))
			}
			return s
		}), 300, 3000, 0},
		"a name first": {build("", func(i int) string {
			s := fmt.Sprintf("ACC,%d,%s\n", i*10, accel(i))
			if i%10 == 0 {
				s += fmt.Sprintf("GPS,%d,%s,72.0%d,120\n", i*10+3, place(i), i/10%2)
			}
			return s
		}), 300, 3000, 0.003},
		"stamps missing": {build("time_s,ax (m/s²),ay (m/s²),az (m/s²),speed (km/h)\n", func(i int) string {
			if i%10 > 0 {
				return "," + accel(i) + ",\n"
			}
			return fmt.Sprintf("%.1f,%s,72\n", float64(i)/100, accel(i))
		}), 300, 2991, 0},
		"x, y and z": {build("time,z,y,x,seconds_elapsed\n", func(i int) string {
			return fmt.Sprintf("%d,9.81,%g,0.1,%.2f\n", 1781430000000000000+i*10000000, 0.01*float64(i%7), float64(i)/100)
		}), 0, 3000, 0},
		"decimal comma": {build("Zeit (s);Beschleunigung x (m/s²);Beschleunigung y (m/s²);Beschleunigung z (m/s²);Geschwindigkeit (km/h)\n", func(i int) string {
			return strings.ReplaceAll(fmt.Sprintf("%.2f;0.1;%g;9.81;72.5\n", float64(i)/100, 0.01*float64(i%7)), ".", ",")
		}), 3000, 3000, 0},
	} {
		log, err := Read(t.Context(), strings.NewReader(c.in), "x", Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		rec := log.Recording
		if n := rec.Accel.Len(); n != c.felt {
			t.Errorf("%s: %d samples, want %d", name, n, c.felt)
			continue
		}
		for i := range rec.Accel.X {
			if z := rec.Accel.Z[i]; rec.Accel.X[i] < 0.1 || rec.Accel.X[i] > 0.11 || z < 9.81 || z > 9.82 {
				t.Fatalf("%s: sample %d is %g, %g", name, i, rec.Accel.X[i], z)
			}
		}
		if c.fixes == 0 {
			continue
		}
		tr := rec.Primary()
		if tr == nil || tr.Len() != c.fixes {
			t.Errorf("%s: %d tracks, %+v, %s", name, len(rec.Tracks), tr, func() (s string) {
				for _, g := range rec.Problems.Groups() {
					for _, p := range g.Kept {
						s += p.Text + "; "
					}
				}
				return s
			}())
			continue
		}
		if v := tr.Value(recording.Speed, 100); v < 20 || v > 20.2 {
			t.Errorf("%s: %g m/s", name, v)
		}
		if d := float64(tr.NanoAt(0)-rec.Accel.NanoUTC[0]) / 1e9; d != c.from {
			t.Errorf("%s: %g s from sample to fix, want %g", name, d, c.from)
		}
	}
}
