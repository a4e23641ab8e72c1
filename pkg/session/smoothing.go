package session

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/ramp"
	"fromrest/pkg/recording"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
)

// Smoothing is what a log's stops and starts tell of how its receiver smooths speed.
type Smoothing struct {
	Delay, U95 float64 // s, by which a steady pull is shown late, and half of its 95 % interval
	Likely     float64 // probability that the receiver smooths
	Filter     string  // the most probable one
	Kind       string  // of it, as in sheet.Receiver
	Gain       float64 // of a tracker
	Stops      int     // that told of it
	Starts     int     // that set a bound
	Beside     bool    // an accelerometer in the log told of it
	// Most is over how many s a receiver may smooth without the log telling: that one of its kind
	// does over more has a probability of 0.03 at most. Half-widths allow for those that do not.
	Most float64
	// Tried is what the log tells of each filter, Kept are those that its runs were timed
	// behind; nil where none was looked for or kept.
	Tried, Kept []estimate.TriedFilter
	// Logs is how many of the call have this receiver and told of it together: Stops and
	// Starts are then theirs, as are the delay and its probability.
	Logs int
	Own  [2]int // stops and starts of the log itself where Logs is more than 1
	// Profile is what became of what was known of the receiver, which has the delay Known.
	Profile estimate.Standing
	Known   uncert.Value
}

// kinds are the names of the filters in a sheet.
var kinds = map[ramp.FilterKind]string{ramp.Unfiltered: "none", ramp.FirstOrder: "first-order", ramp.MeanOf: "mean", ramp.Tracker: "tracker"}

// profileOf is a sheet's receiver for the estimator; nothing for nothing.
func profileOf(r *sheet.Receiver) (p estimate.Profile) {
	if r.Rate <= 0 {
		return p
	}
	for k, name := range kinds {
		if name == r.Filter {
			p.Kind = k
		}
	}
	p.Delay, p.SD, p.Gain, p.Step = r.Delay, r.DelayU95/uncert.Z95, r.Gain, 1/r.Rate
	return p
}

// smoothing takes over what was learned of a receiver that holds speed at zero or does not,
// nil where nothing was looked for or there was nothing to look at.
func smoothing(sm *estimate.Smoothing, holds bool, known *sheet.Receiver) *Smoothing {
	if sm.Stops == 0 && sm.Profile == estimate.NoProfile && (sm.Most == 0 || sm.Starts == 0 && !holds) {
		return nil
	}
	d, sd, without := sm.Delay()
	out := &Smoothing{Delay: d, U95: uncert.Z95 * sd, Likely: 1 - without, Stops: sm.Stops, Starts: sm.Starts, Most: sm.Most,
		Tried: sm.Tried, Kept: sm.Kept(), Logs: 1, Profile: sm.Profile, Known: uncert.Value{X: known.Delay, U: known.DelayU95 / uncert.Z95}}
	if len(out.Kept) > 0 { // the most probable first
		out.name(&out.Kept[0])
	}
	return out
}

// name takes over the most probable filter.
func (sm *Smoothing) name(f *estimate.TriedFilter) {
	sm.Filter, sm.Kind, sm.Gain = f.Name, kinds[f.Kind], f.Gain
}

// receiver is what logs of one receiver have in common.
type receiver struct {
	source     recording.Source
	track      string
	rate, step float64
	tried      int
}

// pool has the logs of one receiver tell together how it smooths, and returns the
// probabilities of the filters that each log kept. A log by itself has few stops, and the
// receiver is the same in all.
func (r *Result) pool() map[*Log][]float64 {
	groups := map[receiver][]*Log{}
	var order []receiver
	for _, l := range r.Logs {
		q := &l.Quality
		if sm := q.Smoothing; !l.witness && sm != nil && !l.long && len(sm.Tried) > 0 && len(sm.Kept) > 0 && sm.own().Stops > 0 && sm.Profile == estimate.NoProfile {
			k := receiver{source: q.Source, track: q.Track, rate: q.Rate, step: q.SpeedStep, tried: len(sm.Tried)}
			if groups[k] == nil {
				order = append(order, k)
			}
			groups[k] = append(groups[k], l)
		}
	}
	out := map[*Log][]float64{}
	for _, k := range order {
		logs := groups[k]
		var told [][]estimate.TriedFilter
		stops := 0
		for _, l := range logs {
			own := l.Quality.Smoothing.own()
			told, stops = append(told, own.Tried), stops+own.Stops
		}
		p := estimate.Pool(told, stops)
		for _, l := range logs {
			sm := l.Quality.Smoothing.own()
			if of := estimate.Onto(sm.Kept, sm.Tried, p); len(logs) > 1 && of != nil {
				sm.Own = [2]int{sm.Stops, sm.Starts}
				sm.together(logs, p)
				out[l] = of
			}
			l.Quality.Smoothing = &sm
		}
	}
	return out
}

// own is a copy of what the log told by itself, but for the delay.
func (sm *Smoothing) own() Smoothing {
	o := *sm
	if o.Logs > 1 {
		o.Logs, o.Stops, o.Starts = 1, o.Own[0], o.Own[1]
	}
	return o
}

// together takes over what the logs of a receiver tell, with the probabilities of the
// filters that were tried.
func (sm *Smoothing) together(logs []*Log, p []float64) {
	sm.Logs, sm.Stops, sm.Starts = len(logs), 0, 0
	for _, l := range logs {
		o := l.Quality.Smoothing.own()
		sm.Stops, sm.Starts = sm.Stops+o.Stops, sm.Starts+o.Starts
	}
	d, sd, without := estimate.DelayOf(sm.Tried, p)
	sm.Delay, sm.U95, sm.Likely = d, uncert.Z95*sd, 1-without
	sm.name(&sm.Tried[slices.Index(p, slices.Max(p))])
}

// late is by how many s a steady pull is shown later than by the estimate: the mean of what is averaged over.
func (q *Quality) late() float64 {
	if sm := q.Smoothing; sm != nil && !sm.Beside && len(sm.Kept) > 0 {
		return sm.Delay
	}
	return 0
}

// delay prints a delay with half of its 95 % interval.
func delay(x, u95 float64) string {
	return uncert.RoundHalfUp(x, 2) + " ± " + uncert.RoundHalfUp(u95, 2) + " s"
}

// String says it in a clause.
func (sm *Smoothing) String() string {
	text := sm.found()
	switch known := "a delay of " + delay(sm.Known.X, sm.Known.U95()); sm.Profile {
	case estimate.Contradicts:
		text += fmt.Sprintf("; the profile says %s: were the receiver's settings changed? The profile is not used", known)
	case estimate.OtherRate:
		text += "; the profile is of another rate and not used"
	case estimate.Used:
		text += fmt.Sprintf("; with the profile, which says %s", known)
	}
	return text
}

func (sm *Smoothing) found() string {
	seen := count(sm.Stops, "stop")
	if sm.Starts > 0 {
		seen += " and " + count(sm.Starts, "start")
	}
	if sm.Logs > 1 {
		seen += fmt.Sprintf(" of %d logs", sm.Logs)
	}
	late, most := delay(sm.Delay, sm.U95), uncert.RoundHalfUp(sm.Most, 2)
	switch {
	case sm.Beside:
		return fmt.Sprintf("the receiver smooths speed with a time constant of about %s s, told by the accelerometer; taken out", uncert.RoundHalfUp(sm.Delay, 2))
	case sm.Kind == kinds[ramp.Tracker] && sm.Likely > smoothedSure:
		return fmt.Sprintf("the receiver %s, seen in %s; taken out", sm.Filter, seen)
	case sm.Stops == 0 && sm.Profile == estimate.Used && sm.Likely < smoothedPerhaps:
		return "none, as far as " + count(sm.Starts, "start") + " tell"
	case sm.Stops == 0 && sm.Profile == estimate.Used:
		return fmt.Sprintf("the receiver shows a steady pull %s late (%s); taken out", late, sm.Filter)
	case sm.Stops == 0 && sm.Starts == 0:
		return fmt.Sprintf("not to be told where speed is held at zero; half-widths allow for smoothing over up to %s s", most)
	case sm.Stops == 0:
		return fmt.Sprintf("not to be told without a stop in the log: %s leave room for smoothing over up to %s s, and half-widths allow for it", count(sm.Starts, "start"), most)
	case sm.Likely > smoothedSure:
		return fmt.Sprintf("the receiver shows a steady pull %s late (%s), seen in %s; taken out", late, sm.Filter, seen)
	case sm.Likely > smoothedPerhaps:
		return fmt.Sprintf("perhaps: %s leave a delay of %s, which is averaged over", seen, late)
	}
	return "none seen in " + seen
}

func count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

// ErrNoProfile is returned by WriteReceiver where no log tells how its receiver smooths.
var ErrNoProfile = errors.New("no log tells how its receiver smooths: two stops, braked firmly to a standstill, or an accelerometer in the log would")

// WriteReceiver writes, as the table of a session sheet, how the receiver smooths speed, as
// the log of the result that tells most of it shows.
func (r *Result) WriteReceiver(w io.Writer) error {
	var best *Log
	for _, l := range r.Logs {
		if sm := l.Quality.Smoothing; sm != nil && (sm.Beside || sm.Stops >= leastProfileStops) && (best == nil || sm.Stops > best.Quality.Smoothing.Stops) {
			best = l
		}
	}
	if best == nil {
		return ErrNoProfile
	}
	sm := best.Quality.Smoothing
	late, u95 := max(sm.Delay, 0), sm.U95
	switch {
	case sm.Beside:
		u95 = besideU95
	case sm.Kind == kinds[ramp.Unfiltered]:
		late = 0
	}
	_, err := fmt.Fprintf(w, `# How a receiver smooths speed: for a session sheet, or for --receiver. Another firmware or
# another setting smooths otherwise.
[receiver]
name        = ""
filter      = "%s"
delay_s     = %.3f
delay_u95_s = %.3f
gain        = %.2f
rate_hz     = %g
stops       = %d
remark      = "found in %s"
`, sm.Kind, late, u95, sm.Gain, best.Quality.Rate, sm.Stops, strings.NewReplacer(`\`, "/", `"`, "'").Replace(best.Name))
	return err
}
