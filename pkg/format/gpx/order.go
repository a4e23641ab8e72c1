package gpx

import (
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// order puts the points of all segments into one track in the order of time.
// Most files are in order already and are appended as they come; segments that
// begin before the end of the ones before them are kept aside and merged at the
// end.
type order struct {
	problems *diag.List
	parts    []*part
	marks    []recording.Mark
	pending  string // what the next point begins, for its mark
	line     int
}

// part is a stretch of segments in the order of time.
type part struct {
	recording.Sequence
	line int
}

func (o *order) open(t *recording.Track) *part {
	p := &part{recording.Sequence{Track: t, Problems: o.problems}, o.line}
	o.parts = append(o.parts, p)
	return p
}

// segment notes that the next point begins one.
func (o *order) segment(line int) {
	o.line = line
	if o.pending == "" {
		o.pending = "a segment begins"
	}
}

func (o *order) add(f *recording.Fix, line int) {
	p := o.parts[len(o.parts)-1]
	if n := p.Track.Len(); o.pending != "" && n > 0 { // the beginning of the log is no break
		if f.Time.Before(p.Track.TimeAt(n - 1)) {
			p = o.open(&recording.Track{})
		}
		o.marks = append(o.marks, recording.Mark{Time: f.Time, Kind: "event", Text: o.pending})
	}
	o.pending = ""
	p.Add(f, recording.Place{Line: line})
}

// close merges the parts into the first one's track and returns the marks.
func (o *order) close() []recording.Mark {
	for _, p := range o.parts {
		p.Close()
	}
	if len(o.parts) > 1 {
		o.merge()
	}
	slices.SortStableFunc(o.marks, func(a, b recording.Mark) int { return a.Time.Compare(b.Time) })
	return o.marks
}

// merge sorts the parts by their first instant and joins them; where they
// overlap, the points of the later part are dropped.
func (o *order) merge() {
	o.problems.Addf("segment-order", diag.Note, o.parts[1].line, "segments are not in the order of time and were sorted")
	track := o.parts[0].Track
	parts := slices.DeleteFunc(o.parts, func(p *part) bool { return p.Track.Len() == 0 })
	slices.SortStableFunc(parts, func(a, b *part) int { return a.Track.TimeAt(0).Compare(b.Track.TimeAt(0)) })
	seq := recording.Sequence{Track: track.Like(), Problems: o.problems}
	for _, p := range parts {
		seq.AddTrack(p.Track, recording.Place{Line: p.line})
		p.Track = nil
	}
	seq.Close()
	*track = *seq.Track
}
