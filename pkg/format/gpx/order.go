package gpx

import (
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// order puts the points of all segments into one track in the order of time, with a
// mark at each break. A segment that begins before the end of those before it is one
// that the file itself sets apart.
type order struct {
	recording.Sequence
	marks   []recording.Mark
	pending string // what the next point begins, for its mark
	line    int    // of the present segment
	sorted  bool   // a segment was not in the order of time
}

// segment notes that the next point begins one.
func (o *order) segment(line int) {
	o.line = line
	if o.pending == "" {
		o.pending = "a segment begins"
	}
}

func (o *order) add(f *recording.Fix, line int) {
	if last, ok := o.Steps.Last(); o.pending != "" && ok { // the beginning of the log is no break
		if recording.Nano(f.Time) < last {
			o.Steps.Declare()
			if !o.sorted {
				o.sorted = true
				o.Problems.Addf("segment-order", diag.Note, o.line, "segments are not in the order of time and were sorted")
			}
		}
		o.marks = append(o.marks, recording.Mark{Time: f.Time, Kind: "event", Text: o.pending})
	}
	o.pending = ""
	o.Add(f, recording.Place{Line: line})
}

// close puts the track in order and returns the marks.
func (o *order) close() []recording.Mark {
	o.Close()
	slices.SortStableFunc(o.marks, func(a, b recording.Mark) int { return a.Time.Compare(b.Time) })
	return o.marks
}
