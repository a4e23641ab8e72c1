package nmea

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	gonmea "github.com/adrianmo/go-nmea"
)

// sum appends the checksum and line end to a sentence without its '$'.
func sum(body string) string {
	var x byte
	for i := range len(body) {
		x ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, x)
}

// drive writes n instants of an invented drive at 10 Hz, RMC, VTG and GGA each.
func drive(n int) []byte {
	var b bytes.Buffer
	for i := range n {
		t := i + 9*36000
		hms := fmt.Sprintf("%02d%02d%02d.%02d", t/36000%24, t/600%60, t/10%60, t%10*10)
		kn := 30 + 30*math.Sin(float64(i)/300)
		lat, lon := 5212.34567+float64(i%1000)*0.00123, 107.65432+float64(i%997)*0.00231
		b.WriteString(sum(fmt.Sprintf("GNRMC,%s,A,%010.5f,N,%011.5f,E,%.3f,%.2f,140626,,,A", hms, lat, lon, kn, float64(i%3600)/10)))
		b.WriteString(sum(fmt.Sprintf("GNVTG,%.2f,T,,M,%.3f,N,%.3f,K,A", float64(i%3600)/10, kn, kn*1.852)))
		b.WriteString(sum(fmt.Sprintf("GNGGA,%s,%010.5f,N,%011.5f,E,1,12,0.78,%.1f,M,45.3,M,,", hms, lat, lon, 88+float64(i%50)/10)))
	}
	return b.Bytes()
}

// BenchmarkRead reads a log and parses a part of it with go-nmea alone, in turn.
// The best of each is compared, because the machine may be busy with other work:
// "x-go-nmea" is the ratio of bytes a second.
func BenchmarkRead(b *testing.B) {
	const fixes = 100_000
	log, part := drive(fixes), drive(2_000)
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprintf("workers-%d", workers), func(b *testing.B) {
			compare(b, len(log), part, func() {
				r, err := Read(context.Background(), bytes.NewReader(log), "", Options{Workers: workers, Size: int64(len(log))})
				if err != nil || r.Primary().Len() != fixes {
					b.Fatal(err, r.Primary().Len())
				}
			})
		})
	}
	b.Run("parse-only", func(b *testing.B) {
		var p parser
		p.out = make([]sentence, 0, window)
		compare(b, len(log), part, func() {
			for at := 0; at < len(log); at += chunk {
				p.out = p.out[:0]
				p.lines(log[at:min(len(log), at+chunk)])
			}
		})
	})
}

// halfGSV is drive with a GSV sentence for each other one: three in each instant
// or, as most receivers have it, all in the first of each second, here of ten
// signals so that every one is taken.
func halfGSV(n int, eachInstant bool) []byte {
	const line = "GPGSV,3,%d,12,%02d,32,180,41,%02d,00,056,38,%02d,52,139,45,%02d,24,297,48,%X"
	var rounds [10]string
	for signal := range rounds {
		for i := range 3 {
			rounds[signal] += sum(fmt.Sprintf(line, i+1, 4*i+1, 4*i+2, 4*i+3, 4*i+4, signal+1))
		}
	}
	var b bytes.Buffer
	at := 0
	for line := range bytes.Lines(drive(n)) {
		b.Write(line)
		switch instant, third := at/3, at%3 == 2; {
		case third && eachInstant:
			b.WriteString(rounds[0])
		case third && instant%10 == 0:
			b.WriteString(strings.Join(rounds[:], ""))
		}
		at++
	}
	return b.Bytes()
}

// BenchmarkReadHalfGSV reads a log with and one without GSV in turn: "x-plain" is
// the ratio of what a byte costs, of the best runs.
func BenchmarkReadHalfGSV(b *testing.B) {
	const fixes = 3_000 // short, so that some runs are not interrupted
	plain := drive(fixes)
	for _, each := range []bool{true, false} {
		b.Run(fmt.Sprintf("each-instant-%v", each), func(b *testing.B) {
			with := halfGSV(fixes, each)
			var best [2]time.Duration
			for b.Loop() {
				for i, log := range [][]byte{plain, with} {
					start := time.Now()
					r, err := Read(context.Background(), bytes.NewReader(log), "", Options{Workers: 1, Size: int64(len(log))})
					took := time.Since(start)
					if err != nil || r.Primary().Len() != fixes || (r.Sky != nil) != (i == 1) {
						b.Fatal(err, r.Primary().Len(), r.Sky)
					}
					if best[i] == 0 || took < best[i] {
						best[i] = took
					}
				}
			}
			b.ReportMetric(float64(best[1])/float64(len(with))/(float64(best[0])/float64(len(plain))), "x-plain")
		})
	}
}

// compare runs f and go-nmea on part in turn.
func compare(b *testing.B, size int, part []byte, f func()) {
	b.ReportAllocs()
	mine, other := time.Duration(math.MaxInt64), time.Duration(math.MaxInt64)
	for b.Loop() {
		start := time.Now()
		f()
		mine = min(mine, time.Since(start))
		b.StopTimer()
		start = time.Now()
		parseAll(part)
		other = min(other, time.Since(start))
		b.StartTimer()
	}
	rate := float64(size) / mine.Seconds()
	b.ReportMetric(rate/1e6, "best-MB/s")
	b.ReportMetric(rate/(float64(len(part))/other.Seconds()), "x-go-nmea")
}

// BenchmarkGoNMEA is the library alone: lines split, each parsed, nothing kept.
func BenchmarkGoNMEA(b *testing.B) {
	log := drive(5_000)
	b.SetBytes(int64(len(log)))
	b.ReportAllocs()
	for b.Loop() {
		parseAll(log)
	}
}

func parseAll(log []byte) {
	var p gonmea.SentenceParser
	for len(log) > 0 {
		i := bytes.IndexByte(log, '\n')
		if _, err := p.Parse(string(log[:i-1])); err != nil {
			panic(err)
		}
		log = log[i+1:]
	}
}
