package session

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// Logs of one receiver tell together how it smooths: the stops are those of all, every log
// says the same, and what is remembered of them says it as well.
func TestLogsOfOneReceiverTellTogether(t *testing.T) {
	if testing.Short() {
		t.Skip("times six starts")
	}
	var in []Input
	for i := range 2 {
		s := driven(t, uint64(i)+1, 3)
		var b bytes.Buffer
		if err := synth.WriteNMEA(&b, s.Recording(synth.Receiver{Rate: 10, Noise: 0.05}, nil, uint64(i)), synth.NMEAOptions{}); err != nil {
			t.Fatal(err)
		}
		in = append(in, Input{Path: []string{"a.nmea", "b.nmea"}[i], Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }})
	}
	one, other := mustRun(t, in[:1], Options{}), mustRun(t, in[1:], Options{})
	memory := &notebook{}
	var last *Result
	for range 2 {
		res := mustRun(t, in, Options{Memory: memory, Build: "b"})
		a, b := res.Logs[0].Quality.Smoothing, res.Logs[1].Quality.Smoothing
		if a.Logs != 2 || a.Stops != one.Logs[0].Quality.Smoothing.Stops+other.Logs[0].Quality.Smoothing.Stops || a.Delay != b.Delay || a.Likely != b.Likely {
			t.Errorf("%+v and %+v", a, b)
		}
		if last != nil {
			for i, r := range last.Runs {
				for k, x := range r.Times {
					if y := res.Runs[i].Times[k]; x.Seconds != y.Seconds || x.U95 != y.U95 {
						t.Errorf("%s %s: %g ± %g, remembered %g ± %g", r.ID, x.Name, x.Seconds, x.U95, y.Seconds, y.U95)
					}
				}
			}
		}
		res.learn() // again changes nothing
		if c := res.Logs[0].Quality.Smoothing; c.Stops != a.Stops || c.Delay != a.Delay {
			t.Errorf("learned twice: %+v, %+v", c, a)
		}
		last = res
	}
}

// What check --learn writes is a sheet's receiver, and a log without a stop that told
// nothing makes none.
func TestReceiverIsWritten(t *testing.T) {
	l := &Log{Name: "a \"b\""}
	l.Quality.Rate = 10
	r := &Result{Logs: []*Log{l}}
	var b strings.Builder
	if err := r.WriteReceiver(&b); !errors.Is(err, ErrNoProfile) {
		t.Errorf("%v", err)
	}
	l.Quality.Smoothing = &Smoothing{Delay: 0.2, U95: 0.03, Kind: "first-order", Stops: 6}
	if err := r.WriteReceiver(&b); err != nil {
		t.Fatal(err)
	}
	sh, err := sheet.Parse(b.String(), "receiver.toml")
	if err != nil {
		t.Fatal(err, b.String())
	}
	p := profileOf(&sh.Receiver)
	if sh.Receiver.Stops != 6 || p.Delay != 0.2 || math.Abs(p.Step-0.1) > 1e-12 || math.Abs(p.SD-0.03/1.96) > 1e-4 {
		t.Errorf("%+v, %+v", sh.Receiver, p)
	}
}
