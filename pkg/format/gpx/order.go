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
	track   *recording.Track
	problem *diag.List
	parts   []*part
	pending string // mark to set with the next point
	line    int
}

// part is a stretch of segments in the order of time.
type part struct {
	track *recording.Track
	seq   recording.Sequence
	marks []recording.Mark
	line  int
}

func newOrder(t *recording.Track, problems *diag.List) *order {
	o := &order{track: t, problem: problems}
	o.open(t, 0)
	return o
}

func (o *order) open(t *recording.Track, line int) *part {
	p := &part{track: t, line: line}
	p.seq = recording.Sequence{Track: t, Problems: o.problem}
	o.parts = append(o.parts, p)
	return p
}

// segment and track note that the next point begins one.
func (o *order) segment(line int) {
	o.line = line
	if o.pending == "" {
		o.pending = "a segment begins"
	}
}

func (o *order) newTrack() { o.pending = "a track begins" }

func (o *order) add(f *recording.Fix, line int) {
	p := o.parts[len(o.parts)-1]
	if o.pending != "" {
		n := p.track.Len()
		if n > 0 && f.Time.Before(p.track.TimeAt(n-1)) {
			p = o.open(&recording.Track{}, o.line)
		}
		if n > 0 { // the beginning of the log is no break
			p.marks = append(p.marks, recording.Mark{Time: f.Time, Kind: "event", Text: o.pending})
		}
		o.pending = ""
	}
	p.seq.Add(f, recording.Place{Line: line})
}

// close merges the parts and returns the marks.
func (o *order) close() []recording.Mark {
	for _, p := range o.parts {
		p.seq.Close()
	}
	if len(o.parts) > 1 {
		o.merge()
	}
	var marks []recording.Mark
	for _, p := range o.parts {
		marks = append(marks, p.marks...)
	}
	slices.SortStableFunc(marks, func(a, b recording.Mark) int { return a.Time.Compare(b.Time) })
	return marks
}

// merge sorts the parts by their first instant and joins them; where they
// overlap, the points of the later part are dropped.
func (o *order) merge() {
	o.problem.Addf("segment-order", diag.Note, o.parts[1].line, "segments are not in the order of time and were sorted")
	parts := slices.DeleteFunc(slices.Clone(o.parts), func(p *part) bool { return p.track.Len() == 0 })
	slices.SortStableFunc(parts, func(a, b *part) int { return a.track.TimeAt(0).Compare(b.track.TimeAt(0)) })
	joined := &recording.Track{}
	seq := recording.Sequence{Track: joined, Problems: o.problem}
	for _, p := range parts {
		seq.AddTrack(p.track, recording.Place{Line: p.line})
		p.track = nil
	}
	seq.Close()
	joined.Name, joined.SpeedUnit = o.track.Name, o.track.SpeedUnit
	*o.track = *joined
}
