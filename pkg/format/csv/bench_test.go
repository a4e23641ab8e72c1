package csv

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"testing"
	"time"
)

// benchTable is a table of n rows as a 25 Hz logger writes it.
func benchTable(n int) []byte {
	var b bytes.Buffer
	b.WriteString("time_ms,latitude,longitude,altitude_m,speed_kmh,course_deg,hdop,satellites\n")
	for i := range n {
		s := math.Sin(float64(i) / 700)
		fmt.Fprintf(&b, "%d,%.7f,%.7f,%.1f,%.3f,%.1f,0.8,17\n", 1781431120000+int64(i)*40,
			52.1+0.01*s, 11.3+1e-6*float64(i), 53+s, 50+49*s, 180+90*s)
	}
	return b.Bytes()
}

// BenchmarkRead gives the speed of Read, and beside it that of encoding/csv with
// strconv.ParseFloat on every cell, which does no more than that. "ratio" is how
// many times as fast Read is in the same run.
func BenchmarkRead(b *testing.B) {
	text := benchTable(1_000_000)
	var own, plain time.Duration
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		start := time.Now()
		rec, err := Read(context.Background(), bytes.NewReader(text), "bench.csv", Options{Size: int64(len(text))})
		if err != nil || rec.Primary().Len() != 1_000_000 {
			b.Fatal(err)
		}
		own += time.Since(start)
		b.StopTimer()
		start = time.Now()
		if n := readPlain(text); n != 1_000_000 {
			b.Fatal(n)
		}
		plain += time.Since(start)
		b.StartTimer()
	}
	b.ReportMetric(plain.Seconds()/own.Seconds(), "ratio")
}

func readPlain(text []byte) int {
	r := csv.NewReader(bytes.NewReader(text))
	r.ReuseRecord = true
	_, _ = r.Read()
	var cols [8][]float64
	for {
		rec, err := r.Read()
		if err == io.EOF {
			return len(cols[0])
		}
		for i := range cols {
			v, _ := strconv.ParseFloat(rec[i], 64)
			cols[i] = append(cols[i], v)
		}
	}
}
