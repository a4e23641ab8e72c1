package fit

import (
	"fmt"
	"strconv"
	"time"

	muktihari "github.com/muktihari/fit/decoder"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// gather collects what one file of the input holds. Instants are those of the
// file until its end, when the correlation of the clocks is known.
type gather struct {
	problems      *diag.List
	at            int64 // where the file begins
	size          int64 // of the input, 0 unknown
	batches       [decoders]batch
	dec           *muktihari.Decoder
	decodeRecords recordDecoder

	gps, rec recording.Sequence
	recStep  float64 // m/s
	wheel    bool    // a wheel sensor was paired
	acc      accel
	clock    clock
	marks    []rawMark
	logger   map[string]string
	bare     int // messages with neither speed nor position
	odd      map[string]bool
}

// rawMark is a mark on the file's clock.
type rawMark struct {
	raw        int64
	kind, text string
}

func newGather(problems *diag.List, at int64, decode recordDecoder) *gather {
	g := &gather{problems: problems, at: at, decodeRecords: decode, odd: make(map[string]bool)}
	g.gps = recording.Sequence{Track: &recording.Track{Source: recording.GNSS, Name: "gps_metadata", SpeedStep: stepMillimetre,
		SpeedUnit: 1, TimeStep: time.Millisecond}, Problems: problems, Stamp: stampText}
	g.rec = recording.Sequence{Track: &recording.Track{Source: recording.GNSS, Name: "record", SpeedUnit: 1, TimeStep: time.Second},
		Problems: problems, Stamp: stampText}
	return g
}

func (g *gather) note(kind string, effect diag.Effect, at int64, format string, args ...any) {
	g.problems.Add(diag.Problem{Kind: kind, Effect: effect, Byte: at, Text: fmt.Sprintf(format, args...)})
}

func itoa(n int) string { return strconv.Itoa(n) }

// say keeps the first thing that the logger says of itself.
func (g *gather) say(key, value string) {
	if g.logger == nil {
		g.logger = make(map[string]string)
	}
	if _, ok := g.logger[key]; !ok {
		g.logger[key] = value
	}
}

func (g *gather) add(s *recording.Sequence, f *recording.Fix, at int64) {
	s.Add(f, recording.Place{Byte: at})
	if s.Track.Len() == counted && at > g.at && g.size > at {
		each := float64(at-g.at) / counted
		s.Track.Grow(int(1.02 * float64(g.size-at) / each))
	}
}

// counted is how many fixes tell how many the rest of the input may hold, so
// that the columns need not be copied as they grow.
const counted = 1024

// take puts a message into the batch of its library.
func (g *gather) take(d *definition, payload []byte, stamp uint32, place int64) {
	p, odd := d.plan(payload)
	for _, name := range odd {
		if key := d.want.name + "." + name; !g.odd[key] {
			g.odd[key] = true
			g.note("field", diag.Suspect, place, "the field %s of %s is not of the profile's size or type and is left out", name, d.want.name)
		}
	}
	if len(p.parts) == 0 {
		return
	}
	if stamp == invalidStamp && d.want.stamp {
		effect := diag.Dropped
		if d.global == mesgGPS { // some devices write them beside each record, for themselves
			effect = diag.Note
		}
		g.note(diag.NoTime, effect, place, "the %s message has no time stamp", d.want.name)
		return
	}
	if p.trust == confirmed {
		if len(g.batches[records].tried) > 0 { // of another layout: their turn comes first
			g.flush(records)
		}
		g.record(p.read(payload, stamp), place)
		return
	}
	if g.batches[d.want.by].add(p, d.global, payload, stamp, place) {
		g.flush(d.want.by)
	}
}

func (g *gather) flush(by decoder) {
	if by == records {
		g.flushRecords()
		return
	}
	g.flushSensors()
}

// result is what one file comes to, on UTC or since power-on.
type result struct {
	tracks []*recording.Track
	acc    *recording.Accel
	marks  []recording.Mark
	clock  string
}

const (
	clockUTC     = "utc"
	clockElapsed = "elapsed"
)

// finish decodes what is left and puts everything on one clock.
func (g *gather) finish() result {
	g.flush(records)
	g.flush(sensors)
	g.gps.Close()
	g.rec.Close()
	g.acc.finish(g.problems)
	if g.bare > 0 {
		g.note(diag.NoSpeed, diag.Note, g.at, "%d records have neither speed nor position", g.bare)
	}
	r := result{clock: clockUTC}
	convert := g.conversion(&r)
	for _, t := range []*recording.Track{g.gps.Track, g.rec.Track} {
		if t.Len() > 0 {
			r.tracks = append(r.tracks, g.convertTrack(t, convert))
		}
	}
	g.sources(r.tracks)
	if len(g.acc.nano) > 0 {
		r.acc = g.convertAccel(convert)
	}
	for _, m := range g.marks {
		r.marks = append(r.marks, recording.Mark{Time: recording.Instant(convert(m.raw)), Kind: m.kind, Text: m.text})
	}
	return r
}

// conversion returns how instants of the file become those of the recording.
func (g *gather) conversion(r *result) func(int64) int64 {
	c := &g.clock
	c.settle(g)
	counts := g.counts()
	switch {
	case !counts:
	case len(c.pairs) > 0:
	case c.known():
		g.note("clock", diag.Note, g.at, "times count from power-on; UTC is from the whole seconds in gps_metadata, right to within a fix's interval")
	default:
		r.clock = clockElapsed
		g.note("clock", diag.Note, g.at, "times count from power-on and the log does not say when that was")
		return func(raw int64) int64 {
			if raw >= systemNano { // some messages have UTC after all
				return raw
			}
			return elapsed(raw)
		}
	}
	return c.utc
}

// counts reports whether any instant counts from power-on.
func (g *gather) counts() bool {
	for _, n := range [][]int64{g.gps.Track.Nanos(), g.rec.Track.Nanos(), g.acc.nano} {
		if len(n) > 0 && n[0] < systemNano {
			return true
		}
	}
	return false
}

// convertTrack converts in place. Should a correlation set the clock back, the
// fixes that would repeat are dropped.
func (g *gather) convertTrack(t *recording.Track, convert func(int64) int64) *recording.Track {
	nano := t.Nanos()
	for i := range nano {
		nano[i] = convert(nano[i])
	}
	if rising(nano) {
		return t
	}
	again := *t
	fresh := &recording.Track{Source: t.Source, Name: t.Name, SpeedStep: t.SpeedStep, SpeedUnit: t.SpeedUnit, TimeStep: t.TimeStep}
	seq := recording.Sequence{Track: fresh, Problems: g.problems}
	for i := range again.Len() {
		f := again.At(i)
		seq.Add(&f, recording.Place{Byte: g.at})
	}
	seq.Close()
	return fresh
}

// rising reports whether each instant is later than the one before.
func rising(nano []int64) bool {
	for i := 1; i < len(nano); i++ {
		if nano[i] <= nano[i-1] {
			return false
		}
	}
	return true
}

func (g *gather) convertAccel(convert func(int64) int64) *recording.Accel {
	a := &g.acc
	n := 0
	for i, raw := range a.nano {
		t := convert(raw)
		if n > 0 && t <= a.nano[n-1] {
			g.note("sample-order", diag.Dropped, g.at, "an accelerometer sample is not later than the one before it")
			continue
		}
		a.nano[n] = t
		for k := range a.axis {
			a.axis[k][n] = a.axis[k][i]
		}
		n++
	}
	a.truncate(n)
	return &recording.Accel{NanoUTC: a.nano, X: a.axis[0], Y: a.axis[1], Z: a.axis[2], Unit: "g"}
}

// sources says what measured the speeds.
func (g *gather) sources(tracks []*recording.Track) {
	rec := g.rec.Track
	rec.SpeedStep = g.recStep
	for i, t := range tracks {
		switch {
		case !t.Has(recording.Speed):
			t.Source = recording.Position
			g.note(diag.NoSpeed, diag.Note, g.at, "%s has no speed; speed comes from the positions, which is less exact", t.Name)
		case t != rec:
		case g.wheel:
			t.Source = recording.Wheel
			g.note("source", diag.Note, g.at, "a wheel sensor was paired; the speed of record is taken for its own")
		case i == 0:
			g.note("source", diag.Note, g.at, "record does not say what measured its speed; taken as GNSS")
		}
	}
}
