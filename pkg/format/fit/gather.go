package fit

import (
	"slices"
	"time"

	tormoder "github.com/tormoder/fit"

	"fmt"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// gather collects what one file of the input holds. Instants are those of the
// file until its end, when the correlation of the clocks is known.
type gather struct {
	whole *recording.Recording // of all files, for problems and what the logger says
	at    int64                // where the file begins
	size  int64                // of the input, 0 unknown

	gps, rec recording.Sequence
	recStep  float64 // m/s
	bare     int     // messages with neither speed nor position
	acc      accel
	clock    clock
	events   events
	marks    []rawMark
	wheel    bool            // a wheel sensor was paired
	odd      map[string]bool // fields told to be odd
}

// rawMark is a mark on the file's clock.
type rawMark struct {
	raw        int64
	kind, text string
}

func newGather(whole *recording.Recording, at, size int64) *gather {
	sequence := func(t *recording.Track) recording.Sequence {
		t.Source, t.SpeedUnit = recording.GNSS, 1
		return recording.Sequence{Track: t, Problems: &whole.Problems, Stamp: stampText}
	}
	return &gather{whole: whole, at: at, size: size, odd: make(map[string]bool),
		gps: sequence(&recording.Track{Name: "gps_metadata", SpeedStep: stepMillimetre, TimeStep: time.Millisecond}),
		rec: sequence(&recording.Track{Name: "record", TimeStep: time.Second})}
}

func (g *gather) note(kind string, effect diag.Effect, at int64, format string, args ...any) {
	g.whole.Problems.AddfByte(kind, effect, at, format, args...)
}

// take reads a message.
func (g *gather) take(m *message) {
	for _, name := range m.odd {
		if key := m.want.name + "." + name; !g.odd[key] {
			g.odd[key] = true
			g.note("field", diag.Suspect, m.place, "the field %s of %s is not of the profile's size or type and is left out", name, m.want.name)
		}
	}
	switch {
	case len(m.parts) == 0:
	case m.stamp == invalidStamp && m.want.stamp:
		effect := diag.Dropped
		if m.global == mesgGPS { // some devices write them beside each record, for themselves
			effect = diag.Note
		}
		g.note(diag.NoTime, effect, m.place, "the %s message has no time stamp", m.want.name)
	default:
		m.want.take(g, m)
	}
}

// add appends a fix of the message at a place.
func (g *gather) add(s *recording.Sequence, f *recording.Fix, at int64) {
	s.Add(f, recording.Place{Byte: at})
	s.Track.Expect(at-g.at, g.size-at)
}

// say keeps the first thing that the logger says of itself.
func (g *gather) say(key, value string) {
	if g.whole.Logger == nil {
		g.whole.Logger = make(map[string]string)
	}
	if _, ok := g.whole.Logger[key]; !ok {
		g.whole.Logger[key] = value
	}
}

// identify reads a file_id.
func (g *gather) identify(m *message) {
	if v := m.value(1); v >= 0 {
		if name := tormoder.Manufacturer(v).String(); name != "" {
			g.say("manufacturer", name)
		}
	}
	if v := m.value(2); v > 0 {
		g.say("product", fmt.Sprint(v))
	}
}

const (
	clockUTC     = "utc"
	clockElapsed = "elapsed"
)

// finish puts everything on one clock, UTC or since power-on.
func (g *gather) finish() *recording.Recording {
	g.decodeEvents()
	g.gps.Close()
	g.rec.Close()
	g.acc.calibrate(g)
	if g.bare > 0 {
		g.note(diag.NoSpeed, diag.Note, g.at, "%d records have neither speed nor position", g.bare)
	}
	r := &recording.Recording{Clock: clockUTC}
	convert := g.conversion(r)
	for _, t := range []*recording.Track{g.gps.Track, g.rec.Track} {
		if t.Len() > 0 {
			r.Tracks = append(r.Tracks, g.convertTrack(t, convert))
		}
	}
	g.sources(r.Tracks)
	r.Accel = g.acc.finish(g, convert)
	for _, m := range g.marks {
		r.Marks = append(r.Marks, recording.Mark{Time: recording.Instant(convert(m.raw)), Kind: m.kind, Text: m.text})
	}
	return r
}

// conversion returns how instants of the file become those of the recording.
func (g *gather) conversion(r *recording.Recording) func(int64) int64 {
	c := &g.clock
	c.settle(g)
	switch {
	case !g.sincePowerOn() || len(c.pairs) > 0:
	case c.agree > 0:
		g.note("clock", diag.Note, g.at, "times count from power-on; UTC is from the whole seconds in gps_metadata, right to within a fix's interval")
	default:
		r.Clock = clockElapsed
		g.note("clock", diag.Note, g.at, "times count from power-on and the log does not say when that was")
		return func(raw int64) int64 {
			if raw >= systemNano { // some messages have UTC after all
				return raw
			}
			return recording.Nano(recording.Epoch0) + raw
		}
	}
	return c.utc
}

// sincePowerOn reports whether any instant counts from power-on.
func (g *gather) sincePowerOn() bool {
	return slices.ContainsFunc([][]int64{g.gps.Track.Nanos(), g.rec.Track.Nanos(), g.acc.nano}, func(n []int64) bool {
		return len(n) > 0 && n[0] < systemNano
	})
}

// convertTrack converts in place. Should a correlation set the clock back, the
// fixes that would repeat are dropped.
func (g *gather) convertTrack(t *recording.Track, convert func(int64) int64) *recording.Track {
	nano := t.Nanos()
	rising := true
	for i := range nano {
		nano[i] = convert(nano[i])
		rising = rising && (i == 0 || nano[i] > nano[i-1])
	}
	if rising {
		return t
	}
	seq := recording.Sequence{Track: t.Like(), Problems: &g.whole.Problems}
	seq.AddTrack(t, recording.Place{Byte: g.at})
	seq.Close()
	return seq.Track
}

// sources says what measured the speeds.
func (g *gather) sources(tracks []*recording.Track) {
	g.rec.Track.SpeedStep = g.recStep
	for i, t := range tracks {
		switch {
		case !t.Has(recording.Speed):
			t.Source = recording.Position
			g.note(diag.NoSpeed, diag.Note, g.at, "%s has no speed; speed comes from the positions, which is less exact", t.Name)
		case t.Name != g.rec.Track.Name:
		case g.wheel:
			t.Source = recording.Wheel
			g.note("source", diag.Note, g.at, "a wheel sensor was paired; the speed of record is taken for its own")
		case i == 0:
			g.note("source", diag.Note, g.at, "record does not say what measured its speed; taken as GNSS")
		}
	}
}
