package bench

import (
	"bufio"
	"context"
	stdcsv "encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strconv"
	"testing"
	"time"

	gonmea "github.com/adrianmo/go-nmea"
	muktihari "github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/proto"
	tormoder "github.com/tormoder/fit"

	"fromrest/pkg/format"
	"fromrest/pkg/format/csv"
	"fromrest/pkg/format/fit"
	"fromrest/pkg/format/gpx"
	"fromrest/pkg/format/nmea"
	"fromrest/pkg/recording"
)

// task is what a child process is asked for: "nmea", "go-nmea" and so on, and
// the log.
const (
	taskVariable = "FROMREST_PERFORMANCE_TASK"
	pathVariable = "FROMREST_PERFORMANCE_LOG"
)

// report is what a child process says.
type report struct {
	Wall    float64 // s, by the clock
	CPU     float64 // s, of all threads
	Mallocs uint64
	Kept    int64 // bytes of the columns of the recording, 0 where none is made
	Records int   // fixes kept, or records seen
}

func TestMain(m *testing.M) {
	if task := os.Getenv(taskVariable); task != "" {
		child(task, os.Getenv(pathVariable))
		return
	}
	os.Exit(m.Run())
}

// child reads the log once and prints a report.
func child(task, path string) {
	f, err := os.Open(path)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	info, err := f.Stat()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	read := tasks[task]
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	begin, used := time.Now(), processorTime()
	n, rec, err := read(f, info.Size())
	r := report{Wall: time.Since(begin).Seconds(), CPU: (processorTime() - used).Seconds(), Records: n}
	runtime.ReadMemStats(&after)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	r.Mallocs = after.Mallocs - before.Mallocs
	if rec != nil {
		r.Records, r.Kept = rec.Primary().Len(), kept(rec)
	}
	if err := json.NewEncoder(os.Stdout).Encode(r); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// kept is the size of a recording's columns.
func kept(rec *recording.Recording) (bytes int64) {
	for _, t := range rec.Tracks {
		bytes += 8 * int64(t.Len())
		for c := range recording.Column(recording.Columns) {
			bytes += 8 * int64(len(t.Col(c)))
		}
	}
	if a := rec.Accel; a != nil {
		bytes += 8 * int64(len(a.NanoUTC)+len(a.X)+len(a.Y)+len(a.Z))
	}
	return bytes
}

// tasks are the ways to read a log in a child process.
var tasks = map[string]func(f *os.File, size int64) (int, *recording.Recording, error){
	"nmea": func(f *os.File, size int64) (int, *recording.Recording, error) {
		rec, err := nmea.Read(context.Background(), f, "", nmea.Options{Workers: runtime.GOMAXPROCS(0), Size: size})
		return 0, rec, err
	},
	"fit": func(f *os.File, size int64) (int, *recording.Recording, error) {
		rec, err := fit.Read(context.Background(), f, "", fit.Options{Size: size})
		return 0, rec, err
	},
	"csv": func(f *os.File, size int64) (int, *recording.Recording, error) {
		rec, err := csv.Read(context.Background(), f, "", csv.Options{Size: size})
		return 0, rec, err
	},
	"gpx": func(f *os.File, size int64) (int, *recording.Recording, error) {
		rec, err := gpx.Read(context.Background(), f, "", gpx.Options{Size: size})
		return 0, rec, err
	},
	"any": func(f *os.File, size int64) (int, *recording.Recording, error) {
		log, err := format.Open(context.Background(), f.Name(), format.Options{})
		if log == nil {
			return 0, nil, err
		}
		return 0, log.Recording, err
	},
	"go-nmea":      goNMEA,
	"tormoder":     tormoderFIT,
	"muktihari":    muktihariFIT,
	"encoding/csv": plainCSV,
	"encoding/xml": plainXML,
}

func goNMEA(f *os.File, _ int64) (n int, _ *recording.Recording, err error) {
	var p gonmea.SentenceParser
	s := bufio.NewScanner(f)
	for ; s.Scan(); n++ {
		if _, err := p.Parse(s.Text()); err != nil {
			return n, nil, err
		}
	}
	return n, nil, s.Err()
}

func tormoderFIT(f *os.File, _ int64) (int, *recording.Recording, error) {
	file, err := tormoder.Decode(bufio.NewReader(f))
	if err != nil {
		return 0, nil, err
	}
	act, err := file.Activity()
	if err != nil {
		return 0, nil, err
	}
	return len(act.Records), nil, nil
}

// counting counts what muktihari/fit hands over.
type counting struct{ n int }

// OnMesg implements the decoder's listener.
func (c *counting) OnMesg(proto.Message) { c.n++ }

func muktihariFIT(f *os.File, _ int64) (int, *recording.Recording, error) {
	c := &counting{}
	dec := muktihari.New(f, muktihari.WithBroadcastOnly(), muktihari.WithMesgListener(c), muktihari.WithIgnoreChecksum())
	for dec.Next() {
		if _, err := dec.Decode(); err != nil {
			return c.n, nil, err
		}
	}
	return c.n, nil, nil
}

// plainCSV keeps every cell as a number in columns.
func plainCSV(f *os.File, _ int64) (int, *recording.Recording, error) {
	r := stdcsv.NewReader(bufio.NewReaderSize(f, 1<<16))
	r.ReuseRecord = true
	if _, err := r.Read(); err != nil {
		return 0, nil, err
	}
	var cols [8][]float64
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return len(cols[0]), nil, nil
		}
		if err != nil {
			return len(cols[0]), nil, err
		}
		for i := range cols {
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				return len(cols[0]), nil, err
			}
			cols[i] = append(cols[i], v)
		}
	}
}

// plainXML reads tokens and keeps nothing.
func plainXML(f *os.File, _ int64) (n int, _ *recording.Recording, err error) {
	d := xml.NewDecoder(bufio.NewReaderSize(f, 1<<16))
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return n, nil, nil
		}
		if err != nil {
			return n, nil, err
		}
		if s, ok := t.(xml.StartElement); ok && s.Name.Local == "trkpt" {
			n++
		}
	}
}
