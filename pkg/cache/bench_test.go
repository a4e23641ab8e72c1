package cache_test

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fromrest/pkg/cache"
	"fromrest/pkg/session"
	"fromrest/pkg/synth"
)

// folderOf writes n logs of one standing start each.
func folderOf(b *testing.B, n int) []session.Input {
	b.Helper()
	dir := b.TempDir()
	tr, err := synth.SimulateRun(rand.New(rand.NewPCG(1, 2)), synth.Electric(), synth.Road{}, synth.Variation{})
	if err != nil {
		b.Fatal(err)
	}
	s := synth.Single(tr, 64, 8)
	var in []session.Input
	for i := range n {
		var w bytes.Buffer
		rx := synth.Receiver{Noise: 0.05, PositionNoise: 1}
		if err := synth.WriteNMEA(&w, s.Recording(rx, nil, uint64(i)), synth.NMEAOptions{}); err != nil {
			b.Fatal(err)
		}
		path := filepath.Join(dir, fmt.Sprintf("%04d.nmea", i))
		if err := os.WriteFile(path, w.Bytes(), 0o644); err != nil {
			b.Fatal(err)
		}
		in = append(in, session.Input{Path: path})
	}
	return in
}

// BenchmarkSecondCall says how many times quicker a second call over a folder of
// logs is, and by how much twice the logs take longer in a first.
func BenchmarkSecondCall(b *testing.B) {
	in := folderOf(b, 80)
	call := func(f *cache.Disk, in []session.Input) time.Duration {
		begin := time.Now()
		res, err := session.Run(context.Background(), in, session.Options{Memory: f, Build: "b", NoTraces: true})
		if err != nil || len(res.Logs) != len(in) {
			b.Fatal(err, res.Failed)
		}
		return time.Since(begin)
	}
	var half, first, second time.Duration
	for b.Loop() {
		for _, c := range []struct {
			in []session.Input
			to *time.Duration
		}{{in[:40], &half}, {in, &first}} {
			f, err := cache.OpenDisk(b.TempDir())
			if err != nil {
				b.Fatal(err)
			}
			*c.to += call(f, c.in)
			if c.to == &first {
				second += call(f, c.in)
			}
			_ = f.Close()
		}
	}
	b.ReportMetric(float64(first)/float64(second), "times-quicker")
	b.ReportMetric(float64(first)/float64(half), "cost-of-twice-the-logs")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkRecall is a call over 40 logs of one start each that are all remembered.
func BenchmarkRecall(b *testing.B) {
	in := folderOf(b, 40)
	for _, slim := range []bool{true, false} {
		b.Run(fmt.Sprintf("traces-%v", !slim), func(b *testing.B) {
			f, err := cache.OpenDisk(b.TempDir())
			if err != nil {
				b.Fatal(err)
			}
			o := session.Options{Memory: f, Build: "b", NoTraces: slim}
			if _, err := session.Run(context.Background(), in, o); err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				if res, err := session.Run(context.Background(), in, o); err != nil || len(res.Runs) != len(in) {
					b.Fatal(err)
				}
			}
		})
	}
}
