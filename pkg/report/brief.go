package report

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"fromrest/pkg/motion/timing"
)

// Brief is what a list says of a session.
type Brief struct {
	Begin    time.Time // of its first dated launch, UTC; zero for none
	Vehicle  string    // as the sheet calls it
	Modes    []string  // in the order driven
	Runs     int       // that count
	Verdicts []string  // in words
	// Target and Origin are where the verdicts are decided, "" where not known, and Marks
	// the runs that reached it.
	Target string
	Origin timing.Origin
	Marks  []BriefMark
}

// BriefMark is a run in a list.
type BriefMark struct {
	Mode    string
	Seconds float64 // s
	Counted bool
}

// BriefOf is the brief of what StoredJSON or RunsJSON wrote. The error is for a body that
// is none.
func BriefOf(body []byte) (Brief, error) {
	var j jsonRuns
	if err := json.Unmarshal(body, &j); err != nil {
		return Brief{}, fmt.Errorf("the stored result: %w", err)
	}
	b := Brief{Vehicle: j.Vehicle, Verdicts: j.Answer}
	if j.Decides != nil {
		b.Target, b.Origin = j.Decides.Name, j.Decides.From
	}
	for i := range j.Runs {
		r := &j.Runs[i]
		for _, t := range r.Times {
			if r.Witness == nil && t.Name == b.Target && t.From == b.Origin && t.Seconds != nil {
				b.Marks = append(b.Marks, BriefMark{r.Mode, *t.Seconds, r.Counted && t.Counted})
			}
		}
		if r.Counted {
			b.Runs++
		}
		if r.Mode != "" && !slices.Contains(b.Modes, r.Mode) {
			b.Modes = append(b.Modes, r.Mode)
		}
		if at, err := time.Parse(time.RFC3339, r.Launch.UTC); err == nil && at.Year() > 1 && (b.Begin.IsZero() || at.Before(b.Begin)) {
			b.Begin = at.UTC()
		}
	}
	return b, nil
}
