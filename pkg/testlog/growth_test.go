package testlog_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/format"
	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// read tells the format and reads, as the program does.
func read(b []byte) (*recording.Recording, error) {
	log, err := format.Read(context.Background(), bytes.NewReader(b), "log", format.Options{})
	if log == nil || log.Recording == nil {
		return &recording.Recording{}, err
	}
	return log.Recording, err
}

// sentence appends the checksum.
func sentence(body string) string {
	var x byte
	for i := range len(body) {
		x ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, x)
}

func rmc(at time.Duration, kn int) string {
	t := time.Date(2026, 6, 14, 9, 0, 0, 0, time.UTC).Add(at)
	return sentence(fmt.Sprintf("GPRMC,%s,A,5212.34567,N,00112.65432,W,%d.5,91.2,%s,,,A", t.Format("150405.00"), kn, t.Format("020106")))
}

func point(at time.Duration) string {
	t := time.Date(2026, 6, 14, 9, 0, 0, 0, time.UTC).Add(at)
	return `<trkpt lat="52.1" lon="-1.2"><time>` + t.Format(time.RFC3339Nano) + `</time><speed>1.5</speed></trkpt>` + "\n"
}

// lines repeats what f gives for each number.
func lines(head string, f func(i, n int) string) func(n int) []byte {
	return func(n int) []byte {
		var b bytes.Buffer
		b.WriteString(head)
		for i := range n {
			b.WriteString(f(i, n))
		}
		return b.Bytes()
	}
}

const gpxHead = `<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>` + "\n"

// members is a log in n gzip members of a line each.
func members(line func(i int) string) func(n int) []byte {
	return func(n int) []byte {
		var b bytes.Buffer
		z, _ := gzip.NewWriterLevel(&b, gzip.BestSpeed)
		for i := range n {
			z.Reset(&b)
			_, _ = z.Write([]byte(line(i))) // memory takes everything
			_ = z.Close()
		}
		return b.Bytes()
	}
}

// growth are inputs made to hurt, each with the units of the smaller text and
// what a byte of it may allocate.
var growth = []struct {
	name    string
	n       int
	perByte float64
	text    func(n int) []byte
}{
	{"nmea", 20_000, 8, lines("", func(i, n int) string { return rmc(time.Duration(i)*100*time.Millisecond, i%90) })},
	{"nmea, one line", 400_000, 24, lines(rmc(0, 1), func(i, n int) string { return "$GPRMC" })},
	{"nmea, one instant", 20_000, 8, lines("", func(i, n int) string { return rmc(0, 1) })},
	// What steps is kept, and put in order in a copy.
	{"nmea, time backward", 20_000, 24, lines("", func(i, n int) string { return rmc(time.Duration(n-i)*100*time.Millisecond, 1) })},
	{"nmea, time to and fro", 20_000, 24, lines("", func(i, n int) string { return rmc(time.Duration(i%2*(n-i))*time.Second, 1) })},
	{"nmea, all checksums wrong", 20_000, 8, lines(strings.Repeat(rmc(0, 1), 3), func(i, n int) string { return strings.Replace(rmc(time.Duration(i)*time.Second, 1), ".5,", ".6,", 1) })},
	{"nmea, only dollars", 1 << 20, 8, lines(rmc(0, 1)+rmc(time.Second, 1)+rmc(2*time.Second, 1), func(i, n int) string { return "$" })},
	{"nmea, words of the receiver", 40_000, 60, lines(rmc(0, 1)+rmc(time.Second, 1)+rmc(2*time.Second, 1), func(i, n int) string { return sentence(fmt.Sprintf("GPTXT,01,01,02,word %d", i)) })},

	{"csv", 40_000, 30, lines("time_s,speed_mps\n", func(i, n int) string { return fmt.Sprintf("%d.%d,1.5\n", i/10, i%10) })},
	{"csv, one line", 400_000, 16, lines("time_s,speed_mps\n0,1\n1,2\n2,3\n", func(i, n int) string { return "1," })},
	{"csv, open quotes", 200_000, 16, lines("time_s,speed_mps\n0,1\n1,2\n2,3\n", func(i, n int) string { return "\"1,\"2\n" })},
	{"csv, doubled quotes", 400_000, 16, lines("time_s,speed_mps\n0,1\n1,2\n2,3\n1,\"", func(i, n int) string { return `""` })},
	{"csv, all rows wrong", 100_000, 16, lines("time_s,speed_mps\n0,1\n1,2\n2,3\n", func(i, n int) string { return "x,y,z\n" })},
	{"csv, one instant", 60_000, 30, lines("time_s,speed_mps\n0,1\n1,2\n2,3\n", func(i, n int) string { return "3,1.5\n" })},
	{"csv, time backward", 60_000, 40, lines("time_s,speed_mps\n", func(i, n int) string { return fmt.Sprintf("%d,1.5\n", n-i) })},
	{"csv, time to and fro", 60_000, 40, lines("time_s,speed_mps\n", func(i, n int) string { return fmt.Sprintf("%d,1.5\n", i%2*n-i) })},
	{"csv, leaps", 60_000, 40, lines("time_ms,speed_mps\n", func(i, n int) string { return fmt.Sprintf("%d,1\n", i*100+i%5/4*1e6*(n-i)) })},
	{"csv, a mark a row", 60_000, 40, lines("time_s,speed_mps,lap\n", func(i, n int) string { return fmt.Sprintf("%d,1.5,%d\n", i, i) })},

	{"gpx", 10_000, 40, lines(gpxHead, func(i, n int) string { return point(time.Duration(i) * time.Second) })},
	{"gpx, one instant", 10_000, 40, lines(gpxHead, func(i, n int) string { return point(0) })},
	{"gpx, time backward", 10_000, 40, lines(gpxHead, func(i, n int) string { return point(time.Duration(n-i) * time.Second) })},
	{"gpx, a segment a point, backward", 4_000, 120, lines(gpxHead, func(i, n int) string { return "</trkseg><trkseg>" + point(time.Duration(n-i)*time.Second) })},
	{"gpx, open points", 60_000, 120, lines(gpxHead+point(0), func(i, n int) string { return "<trkpt " })},
	{"gpx, open elements", 200_000, 120, lines(gpxHead+point(0), func(i, n int) string { return "<a>" })},
	{"gpx, open comments", 60_000, 120, lines(gpxHead+point(0), func(i, n int) string { return "<trkpt><!--" })},
	{"gpx, open quotes", 60_000, 120, lines(gpxHead+point(0), func(i, n int) string { return "<trkpt lat='" })},
	{"gpx, open data", 60_000, 120, lines(gpxHead+point(0), func(i, n int) string { return "<trkpt><![CDATA[" })},

	{"gzip, a member a sentence", 10_000, 30, members(func(i int) string { return rmc(time.Duration(i)*100*time.Millisecond, 1) })},
	{"gzip, empty members", 60_000, 8, func(n int) []byte {
		return append(members(func(i int) string { return rmc(time.Duration(i)*100*time.Millisecond, 1) })(3), members(func(int) string { return "" })(n)...)
	}},
}

// Twice the input costs twice the work, also where it is made to hurt.
func TestGrowth(t *testing.T) {
	for _, g := range growth {
		testlog.Growth(t, g.name, g.n, g.text, g.perByte, read)
	}
}

// BenchmarkGrowth gives the time that twice the input takes, as a multiple of
// the time for the input: 2 is in proportion, 4 is quadratic.
func BenchmarkGrowth(b *testing.B) {
	for _, g := range growth {
		b.Run(strings.ReplaceAll(g.name, ", ", "/"), func(b *testing.B) {
			one, two := g.text(g.n), g.text(2*g.n)
			var cost [2]time.Duration
			for b.Loop() {
				for i, text := range [][]byte{one, two} {
					begin := time.Now()
					_, _ = read(text) // an error takes its time too
					d := time.Since(begin)
					if cost[i] == 0 || d < cost[i] {
						cost[i] = d
					}
				}
			}
			b.SetBytes(int64(len(one) + len(two)))
			b.ReportMetric(cost[1].Seconds()/cost[0].Seconds(), "x-for-twice")
		})
	}
}
