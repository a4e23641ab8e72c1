package format

import (
	"fmt"
	"slices"
	"strings"

	"fromrest/pkg/recording"
)

// Part says what of a log is kept. The zero value is all. NMEA and CSV logs are
// cut while they are read, so that the rest takes no memory; the others once they
// are read.
type Part struct {
	Span recording.Part // stretch of time
	// Tracks are the names or sources of the tracks that are kept, in any case,
	// and "accel" for the accelerometer; empty for all.
	Tracks []string
}

// All reports whether the part is the whole log.
func (p Part) All() bool { return p.Span.All() && len(p.Tracks) == 0 }

// Key names the part.
func (p Part) Key() string { return fmt.Sprintf("%v %v %q", p.Span.From, p.Span.To, p.Tracks) }

// accelWord names the accelerometer among the tracks.
const accelWord = "accel"

// choose keeps only the tracks asked for.
func (p Part) choose(rec *recording.Recording) error {
	if len(p.Tracks) == 0 {
		return nil
	}
	wanted := func(words ...string) bool {
		return slices.ContainsFunc(p.Tracks, func(w string) bool {
			return slices.ContainsFunc(words, func(x string) bool { return strings.EqualFold(w, x) })
		})
	}
	var has []string
	for _, t := range rec.Tracks {
		word := string(t.Source)
		if t.Name != "" {
			word += " (" + t.Name + ")"
		}
		has = append(has, word)
	}
	accel := rec.Accel.Len() > 0 && wanted(accelWord)
	if rec.Accel.Len() > 0 {
		has = append(has, accelWord)
	}
	rec.Tracks = slices.DeleteFunc(rec.Tracks, func(t *recording.Track) bool { return !wanted(t.Name, string(t.Source)) })
	if !wanted(accelWord) {
		rec.Accel = nil
	}
	if len(rec.Tracks) == 0 && !accel {
		return fmt.Errorf("no track %s in it; it has %s", strings.Join(p.Tracks, " or "), strings.Join(has, ", "))
	}
	return nil
}

// cutOff leaves only the part's stretch of time in a recording that was read
// whole.
func cutOff(rec *recording.Recording, p recording.Part) error {
	if p.All() {
		return nil
	}
	c := recording.Cut{Part: p}
	offer := func(n []int64) {
		if len(n) > 0 {
			c.Take(n[0])
			c.Take(n[len(n)-1])
		}
	}
	for _, t := range rec.Tracks {
		offer(t.Nanos())
	}
	if !c.Offered() && rec.Accel.Len() > 0 {
		offer(rec.Accel.NanoUTC)
	}
	from, to, ok := c.Ends()
	if !ok {
		return nil
	}
	for _, t := range rec.Tracks {
		t.Limit(from, to)
	}
	rec.Tracks = slices.DeleteFunc(rec.Tracks, func(t *recording.Track) bool { return t.Len() == 0 })
	rec.Accel = rec.Accel.Limit(from, to)
	if len(rec.Tracks) == 0 {
		return c.Nothing()
	}
	return nil
}
