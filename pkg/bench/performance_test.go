package bench

import (
	"flag"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
)

var (
	document = flag.String("performance.doc", "", "write the table to this file; without it a small log of each kind is read as a check")
	sizes    = flag.String("performance.sizes", "1,10,100,1000", "sizes of the logs in MB")
	peers    = flag.Int64("performance.peers", 100, "size in MB at which peers are measured")
	folder   = flag.String("performance.dir", "", "where logs are written and deleted, the system's temporary folder by default")
)

// alone are the libraries and parsers linked into this program, by format.
var alone = map[string][]struct{ task, name, does string }{
	"nmea": {{"go-nmea", "go-nmea", "parses, keeps nothing"}},
	"fit":  {{"tormoder", "tormoder/fit", "keeps every field"}, {"muktihari", "muktihari/fit", "decodes, keeps nothing"}},
	"csv":  {{"encoding/csv", "encoding/csv with strconv", "keeps every cell"}},
	"gpx":  {{"encoding/xml", "encoding/xml", "tokens, keeps nothing"}},
}

// sized is what reading a log of one size costs.
type sized struct {
	bytes    int64
	records  int
	one, all cost // on one processor, and on all
}

// compared is a peer's cost.
type compared struct {
	name, does string
	cost       cost
}

// result is the table of one format.
type result struct {
	format, record string
	sized          []sized
	any            cost // through the program's front door, on all processors
	peerBytes      int64
	peerOne        cost
	peers          []compared
	absent         []string
}

// TestPerformance writes the table, or checks on small logs that everything
// that the table needs can be measured.
func TestPerformance(t *testing.T) {
	megabytes, peerSize, processors := []float64{0.2}, int64(200e3), 2
	if *document != "" {
		megabytes = nil
		for _, s := range strings.Split(*sizes, ",") {
			v, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			megabytes = append(megabytes, v)
		}
		peerSize, processors = *peers*1e6, 0
	}
	busy := load()
	var all []result
	for _, l := range logs {
		all = append(all, measureFormat(t, l, megabytes, peerSize, orAll(processors)))
	}
	text := table(all, busy)
	if *document == "" {
		for _, want := range []string{"go-nmea", "tormoder/fit", "encoding/csv", "encoding/xml", "peak"} {
			if !strings.Contains(text, want) {
				t.Errorf("the table lacks %s", want)
			}
		}
		return
	}
	if err := os.WriteFile(*document, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// measureFormat measures one format at every size, and its peers at one.
func measureFormat(t *testing.T, l kind, megabytes []float64, peerSize int64, processors int) result {
	dir, err := os.MkdirTemp(*folder, "fromrest-performance")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	r := result{format: l.format, record: l.record}
	must := func(c cost, err error) cost {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	for _, mb := range megabytes {
		path, size, n, err := generate(dir, l.name, l.write, int64(mb*1e6))
		if err != nil {
			t.Fatal(err)
		}
		times := 3
		if size > 500e6 {
			times = 1
		}
		s := sized{bytes: size, records: n}
		s.one = must(measure(l.format, path, 1, times))
		s.all = must(measure(l.format, path, processors, times))
		check(t, l.format, n, s.one)
		check(t, l.format, n, s.all)
		r.sized = append(r.sized, s)
		if int64(mb*1e6) == peerSize {
			r.comparePeers(t, path, size, s.one, times)
			r.any = must(measure("any", path, processors, times))
			check(t, l.format, n, r.any)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s, %.0f MB: %.3f s of a processor, %.3f s by the clock on all", l.format, float64(size)/1e6, s.one.CPU, s.all.Wall)
	}
	return r
}

// check fails where not all of the log was read.
func check(t *testing.T, format string, records int, c cost) {
	t.Helper()
	want := records
	if format == "nmea" {
		want /= 3 // sentences an instant
	}
	if c.Records != want || c.Kept == 0 {
		t.Errorf("%s: %d fixes of %d, %d bytes kept", format, c.Records, want, c.Kept)
	}
}

// comparePeers reads the log with everything else that is there. Programs that
// are not linked in are only run for the table.
func (r *result) comparePeers(t *testing.T, path string, size int64, one cost, times int) {
	r.peerBytes, r.peerOne = size, one
	for _, a := range alone[r.format] {
		c, err := measure(a.task, path, 1, times)
		if err != nil {
			t.Fatal(err)
		}
		if c.Records != one.Records && r.format != "nmea" && a.task != "muktihari" {
			t.Errorf("%s sees %d records, the reader %d", a.name, c.Records, one.Records)
		}
		r.peers = append(r.peers, compared{a.name, a.does, c})
	}
	if *document == "" {
		return
	}
	for _, p := range programs {
		if p.formats[r.format] == nil || size > p.largest {
			continue
		}
		if _, why := p.command(r.format, path); why != "" {
			t.Log(why)
			r.absent = append(r.absent, why)
			continue
		}
		c, err := middle(1, func() (cost, error) {
			cmd, _ := p.command(r.format, path)
			_, got, err := run(cmd)
			return got, err
		})
		if err != nil {
			why := fmt.Sprintf("%s does not read the log (%v)", p.name, err)
			t.Log(why)
			r.absent = append(r.absent, why)
			continue
		}
		r.peers = append(r.peers, compared{p.name, p.does, c})
	}
}
