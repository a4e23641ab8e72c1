package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"

	"fromrest/pkg/archive"
	"fromrest/pkg/format"
	"fromrest/pkg/format/csv"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/tomltext"
)

// sensor is a log whose accelerometer goes with the others by the sheet, read once.
type sensor struct {
	name string
	once sync.Once
	c    *format.Companion
	err  error
}

// sensorOf is the sensor that the sheet names, nil for none. The caller holds mu.
func (w *work) sensorOf() *sensor {
	if w.parsed == nil || w.parsed.With == "" {
		w.sensor = nil
	} else if w.sensor == nil || w.sensor.name != w.parsed.With {
		w.sensor = &sensor{name: w.parsed.With}
	}
	return w.sensor
}

// regard has the logs read again where a log whose accelerometer goes with them came or
// went. The caller holds mu.
func (w *work) regard(l *logWork) {
	if w.sensorOf() != nil && w.sensor.name == l.Name {
		w.sensor = nil
		w.readAgain()
	}
}

// companion gives the accelerometer to the options that a log is read with. own is set for
// the accelerometer's log itself.
func (w *work) companion(ctx context.Context, s *sensor, l *logWork, opts *session.Options) (own bool, err error) {
	if s == nil || s.name == l.Name {
		return s != nil, nil
	}
	w.mu.Lock()
	var of *logWork
	others := 0
	for _, x := range w.logs {
		if x.Name == s.name {
			of = x
		} else {
			others++
		}
	}
	w.mu.Unlock()
	if of == nil {
		return false, nil // it is still to come; the sheet says so
	}
	s.once.Do(func() { s.c, s.err = w.readCompanion(ctx, of) })
	if s.err != nil {
		return false, s.err
	}
	opts.With = s.c.For(others > 1)
	return false, nil
}

func (w *work) readCompanion(ctx context.Context, l *logWork) (*format.Companion, error) {
	w.mu.Lock()
	columns := w.reading.Columns
	w.mu.Unlock()
	open := func() (io.ReadCloser, error) { return w.s.arch.OpenLog(ctx, l.SHA256) }
	return format.ReadCompanion(ctx, open, l.Name, format.Options{Columns: columns})
}

// strange is what is known of a log that gave nothing, or nothing but acceleration.
type strange struct {
	alone meets // what it belongs to, if it is an accelerometer alone
	table bool  // it may be read once its columns are named
}

// strangeness looks again at a log that gave nothing, or nothing but acceleration.
func (w *work) strangeness(ctx context.Context, l *logWork, res *session.Result) strange {
	failed := len(res.Failed) == 1
	if !failed && (len(res.Logs) != 1 || !res.Logs[0].Quality.InertialOnly) {
		return strange{}
	}
	s := strange{}
	if in, err := w.s.arch.OpenLog(ctx, l.SHA256); err == nil {
		head, _ := io.ReadAll(io.LimitReader(in, archiveHead)) // of what cannot be read nothing is known
		s.table = failed && csv.Sniff(head) > 0
		_ = in.Close() // only read
	}
	// A table may have failed by a mapping that is meant for others.
	if !failed || s.table || errors.Is(res.Failed[0].Err, estimate.ErrNoSpeed) {
		s.alone = w.alone(ctx, l)
	}
	return s
}

// meets is what is known of an accelerometer's log that has nothing else: whether it
// belongs to a log.
type meets func(of *session.Log) (meets, tells bool)

// alone says what a log belongs to that has nothing but acceleration, nil where it has more.
func (w *work) alone(ctx context.Context, l *logWork) meets {
	c, err := w.readCompanion(ctx, l)
	if err != nil || !c.Alone() {
		return nil
	}
	at := c.Times()
	return func(of *session.Log) (bool, bool) { return at.Meet(of.Clock, of.Start, of.End) }
}

// goesWith are the logs that an accelerometer's log belongs to by its clock; where its clock
// tells of none and there is one log, that one. The caller holds mu.
func (w *work) goesWith(l *logWork) []string {
	out := []string{}
	if l.alone == nil {
		return out
	}
	tells, last, n := false, "", 0
	for _, x := range w.logs {
		if x.alone != nil || x.part == nil || len(x.part.Logs) == 0 {
			continue
		}
		meets, knows := l.alone(x.part.Logs[0])
		if tells = tells || knows; meets {
			out = append(out, x.Name)
		}
		last, n = x.Name, n+1
	}
	if !tells && n == 1 {
		out = append(out, last)
	}
	return out
}

// recordingsView are two logs that have drives in common.
type recordingsView struct {
	Runs    [2]string `json:"runs"`   // one of each, the one that counts first
	Logs    [2]string `json:"logs"`   // their names
	Drives  int       `json:"drives"` // that both have
	Settled bool      `json:"settled"`
}

// recordings are the pairs of logs of which one stands for the other. The caller holds mu.
func (w *work) recordings() []recordingsView {
	out := []recordingsView{}
	at := map[[2]*session.Log]int{}
	for _, r := range w.result.Runs {
		if r.WitnessOf == nil {
			continue
		}
		pair := [2]*session.Log{r.WitnessOf.Log, r.Log}
		i, ok := at[pair]
		if !ok {
			i = len(out)
			at[pair] = i
			settled := w.parsed != nil && slices.ContainsFunc(w.parsed.Logs, func(e sheet.LogEntry) bool {
				return e.WitnessOf != "" && (e.SHA256 == r.Log.Content || e.SHA256 == "" && e.Name == r.Log.Name)
			})
			out = append(out, recordingsView{[2]string{r.WitnessOf.ID, r.ID}, [2]string{pair[0].Name, pair[1].Name}, 0, settled})
		}
		out[i].Drives++
	}
	return out
}

// editRecordings says which of two recordings of one drive counts: the first or the second
// run of the request, or both, as of two vehicles.
func (w *work) editRecordings(ctx context.Context, in *editRequest) error {
	if len(in.Runs) != 2 || in.Value != "first" && in.Value != "second" && in.Value != "both" {
		return &errEdit{"the request could not be read"}
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, id := range in.Runs {
		if !slices.ContainsFunc(w.result.Runs, func(r *session.TimedRun) bool { return r.ID == id }) {
			return &errEdit{fmt.Sprintf("run %q does not exist", clean(id, mostID))}
		}
	}
	body, is, err := w.identified(in.Runs)
	if err != nil {
		return err
	}
	t, names := tomltext.New(body), make([]string, 2)
	for i, id := range is {
		names[i] = id[:strings.LastIndexByte(id, '#')]
		for _, key := range []string{"witness_of", "separate"} {
			t.UnsetIn(tomltext.Entry{Table: "log", Key: "name", Value: names[i]}, key)
		}
	}
	said := "both count"
	if in.Value == "both" {
		t.SetIn(tomltext.Entry{Table: "log", Key: "name", Value: names[1]}, "separate", "true")
	} else {
		counts, other := names[0], names[1]
		if in.Value == "second" {
			counts, other = other, counts
		}
		t.SetIn(tomltext.Entry{Table: "log", Key: "name", Value: other}, "witness_of", tomltext.Quote(counts))
		said = counts + " counts"
	}
	return w.keep(ctx, archive.Change{Base: w.sheet.Revision, Body: t.String(), Note: "recordings " + names[0] + " and " + names[1] + ": " + said})
}
