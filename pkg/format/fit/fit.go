// Package fit reads FIT activity files.
//
// One walker steps over the messages and hands on those that matter. Their fields
// are read from the bytes where the definition places them; an absent field and
// one that the profile marks invalid are alike. Laps, events and devices, cut down
// to the fields that matter, go to tormoder/fit in a small file of their own, and
// the names of makers come from there. That library leaves gps_metadata,
// accelerometer_data, its calibration and timestamp_correlation empty, lets the
// poorer of two fields win and keeps accumulators for records in package
// variables: so these are read here, files may be read at once, and tests hold
// every record to it. A field of another size or type than the profile's costs
// only itself, and after damage reading goes on where messages fit together again.
//
// The model: gps_metadata is the best track, with the receiver's velocity at
// its full rate; record, at most one a second, is the next. Time stamps below
// 2^28 count from power-on and are put on UTC by timestamp_correlation.
// Accelerometer counts are calibrated as the profile has it. Several files in a
// row make one recording.
//
// Limits: developer fields are not read; a record does not say what measured
// its speed, and is taken as GNSS unless a wheel sensor was paired; steps of
// numbers are those of the profile, although a device may round more coarsely.
package fit

import (
	"cmp"
	"context"
	"errors"
	"io"
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// Options control reading. The zero value is usable.
type Options struct {
	// Size is the number of bytes that r holds, 0 where it is not known. It only
	// saves memory.
	Size int64
}

// Sniff says how surely head begins a FIT file: 0 no, 100 certain.
func Sniff(head []byte) int {
	if isHeader(head) {
		return 100
	}
	return 0
}

// Read reads a log. It returns what it could decode even with an error. The
// error is non-nil only if reading from r fails, ctx is cancelled, r is no FIT
// file, or it holds neither speed, position nor acceleration. Errors of the data
// are in the recording's Problems, by byte.
func Read(ctx context.Context, r io.Reader, name string, opts Options) (*recording.Recording, error) {
	m := merger{rec: &recording.Recording{Name: name, Format: "fit", Clock: clockUTC}}
	s := newStream(ctx, r)
	files := 0
	for {
		w := &walker{s: s, problems: &m.rec.Problems}
		h, ok := w.nextFile()
		if !ok {
			break
		}
		files++
		g := newGather(m.rec, s.off, opts.Size)
		w.emit = g.take
		w.file(h)
		m.add(g.finish(), g.at)
	}
	m.finish()
	switch err := s.failed(); {
	case err != nil:
		return m.rec, err
	case files == 0:
		return m.rec, errors.New("not a FIT file: it has no FIT header")
	case len(m.rec.Tracks) == 0 && m.rec.Accel.Len() == 0:
		return m.rec, errors.New("the FIT file holds neither speed nor position nor acceleration")
	}
	return m.rec, nil
}

// merger joins the files of one input.
type merger struct {
	rec   *recording.Recording
	clock string // of what was taken so far
}

// add takes what the next file holds, which begins at a place.
func (m *merger) add(r *recording.Recording, at int64) {
	rec := m.rec
	if len(r.Tracks) == 0 && r.Accel == nil && len(r.Marks) == 0 {
		return
	}
	if m.clock != "" && m.clock != r.Clock {
		rec.Problems.AddfByte("clock", diag.Dropped, at, "this file's times are on another clock (%s) than those before it (%s); it is left out", r.Clock, m.clock)
		return
	}
	m.clock, rec.Clock = r.Clock, r.Clock
	for _, t := range r.Tracks {
		m.track(t, at)
	}
	m.accel(r.Accel)
	rec.Marks = append(rec.Marks, r.Marks...)
}

// track takes a track whole, or appends it to the one of its name.
func (m *merger) track(t *recording.Track, at int64) {
	for _, x := range m.rec.Tracks {
		if x.Name == t.Name && x.Source == t.Source {
			seq := recording.Sequence{Track: x, Problems: &m.rec.Problems}
			seq.AddTrack(t, recording.Place{Byte: at})
			seq.Close()
			return
		}
	}
	m.rec.Tracks = append(m.rec.Tracks, t)
}

func (m *merger) accel(a *recording.Accel) {
	if a == nil || m.rec.Accel == nil {
		m.rec.Accel = cmp.Or(m.rec.Accel, a)
		return
	}
	all := m.rec.Accel
	from, _ := slices.BinarySearch(a.NanoUTC, all.NanoUTC[all.Len()-1]+1)
	if from > 0 {
		m.rec.Problems.AddfByte("sample-order", diag.Dropped, 0, "%d accelerometer samples overlap with those of the file before", from)
	}
	all.NanoUTC = append(all.NanoUTC, a.NanoUTC[from:]...)
	all.X, all.Y, all.Z = append(all.X, a.X[from:]...), append(all.Y, a.Y[from:]...), append(all.Z, a.Z[from:]...)
}

// rank orders sources, the best first.
func rank(t *recording.Track) int {
	switch {
	case t.Source == recording.GNSS && t.Name == "gps_metadata":
		return 0
	case t.Source == recording.GNSS:
		return 1
	case t.Source == recording.Wheel:
		return 2
	}
	return 3
}

// finish puts tracks and marks in their order.
func (m *merger) finish() {
	slices.SortStableFunc(m.rec.Tracks, func(a, b *recording.Track) int { return rank(a) - rank(b) })
	slices.SortStableFunc(m.rec.Marks, func(a, b recording.Mark) int { return a.Time.Compare(b.Time) })
}
