package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// delayText says what is known of a receiver's delay, "" where nothing could tell it.
func delayText(q *session.Quality) string {
	if al := q.Alignment; al != nil && al.Reason == "" && al.Offset.U > 0 && math.Abs(al.Offset.X) < sameClock.Seconds() && !q.InertialOnly {
		return fmt.Sprintf("%s s behind its accelerometer, with what smoothing adds, if both have one clock", scaled(al.Offset, 1))
	}
	return "cannot be told from one log; it cancels out of the times (--beside another log shows it)"
}

// closeTexts describe a log's speed at close quarters: its scatter under way and the tails
// of that, what starts show first, and its stops.
func closeTexts(l *session.Log, units string) (under, tails, release, stops string) {
	p := l.Portrait
	if p == nil {
		return
	}
	unitName, per := SpeedUnit(units)
	if p.Scatter > 0 {
		under = fmt.Sprintf("%s m/s (%s %s) about the estimate, from %s of %s", figures(p.Scatter, 2), figures(p.Scatter/per, 2), unitName, plural(p.N, "speed"), plural(p.Starts, "start"))
		tails = fmt.Sprintf("%s %% of these lie more than 3 standard deviations off; a normal error would have 0.27 %%", figures(100*float64(p.Wild)/float64(p.N), 2))
		if p.Aside > 0 {
			tails += fmt.Sprintf("; %s set aside", plural(p.Aside, "speed"))
		}
	}
	if l.Quality.StaticHold > 0 && p.FirstOf > 0 {
		release = fmt.Sprintf("starts show %s m/s first, the median of %d", trimZeros(p.First, 2), p.FirstOf)
	}
	if n := len(p.Stops); n > 0 {
		stops = "check -o draws the " + plural(n, "firmest stop") + " that rest follows"
	}
	return
}

// flagItems count what the runs of a log were flagged for, as the tables have it.
func flagItems(res *session.Result, l *session.Log) []document.Term {
	starts, n := 0, map[string]int{}
	var codes []string
	for _, r := range res.Runs {
		if r.Log != l || r.Kind != segment.StandingStart {
			continue
		}
		starts++
		for _, f := range r.Flags {
			if n[f.Code] == 0 {
				codes = append(codes, f.Code)
			}
			n[f.Code]++
		}
	}
	if starts == 0 {
		return []document.Term{{Name: "starts", Text: "none in it"}}
	}
	slices.Sort(codes)
	text := plural(starts, "standing start") + ", nothing flagged"
	if len(codes) > 0 {
		text = plural(starts, "standing start") + "; flagged: " + strings.Join(each(codes, func(c string) string { return fmt.Sprintf("%s %d", c, n[c]) }), ", ")
	}
	return []document.Term{{Name: "starts", Text: text}}
}

// expectedBasis says what the expected half-widths rest on.
func expectedBasis(l *session.Log) string {
	own, van, runs := false, false, 0
	for _, e := range worth(l).Expected {
		own, van, runs = own || e.Runs > 0, van || e.Runs == 0, max(runs, e.Runs)
	}
	switch {
	case own && van:
		return "the median of its own starts, each timed alone; * of a simulated van"
	case own:
		return "the median of its " + plural(runs, "start") + ", each timed alone"
	}
	return "those of a simulated van seen by such a receiver"
}

// expectedMark marks a half-width that is a simulated van's where others are the log's own.
func expectedMark(l *session.Log, name string) string {
	own, van := false, false
	for _, e := range worth(l).Expected {
		own = own || e.Runs > 0
		van = van || e.Name == name && e.Runs == 0
	}
	if own && van {
		return " *"
	}
	return ""
}

// adviceBlocks say what would better the log: what costs least, or all of it.
func adviceBlocks(l *session.Log, full bool, inside document.Layout) []document.Block {
	advice := worth(l).Advice
	switch n := len(advice); {
	case n == 0 || full:
		return under(document.Heading{Text: "Advice, cheapest first", Layout: inside}, document.List{Items: advice, Layout: inside})
	default:
		items := []string{advice[0]}
		if n > 1 {
			items = append(items, fmt.Sprintf("%d more: --full", n-1))
		}
		return under(document.Heading{Text: "What would improve it at the least cost", Layout: inside}, document.List{Items: items, Layout: inside})
	}
}

// closeTable is the half-widths of each start of a log beside what it was flagged for, for whoever wants
// everything; nil without one.
func closeTable(res *session.Result, l *session.Log) *document.Table {
	t := document.TableOf(document.Whole, "", "start", "launch, ±", "0-60 mph from rest, ±", "with rollout, ±", "flags")
	half := func(r *session.TimedRun, from timing.Origin) string {
		if x, ok := r.Time("0-60 mph", from); ok {
			return half(x.U95)
		}
		return document.Unknown
	}
	for _, r := range res.Runs {
		if r.Log == l && r.Kind == segment.StandingStart {
			t.Add(r.ID, halfOf(r.LaunchSD), half(r, timing.FromRest), half(r, timing.FromRollout), strings.Join(each(r.Flags, func(f segment.Flag) string { return f.Code }), ", "))
		}
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// halfOf prints the half-width of a standard deviation in s.
func halfOf(sd float64) string { return half(uncert.Z95 * sd) }

// jsonClose is a log's speed at close quarters.
type jsonClose struct {
	Starts     int      `json:"starts"`
	Samples    int      `json:"samples"`
	Scatter    *float64 `json:"scatter_mps,omitempty"`
	Wild       int      `json:"beyond_three_deviations"`
	Aside      int      `json:"set_aside"`
	First      *float64 `json:"first_shown_mps,omitempty"`
	FirstOf    int      `json:"first_shown_starts,omitempty"`
	StopsDrawn int      `json:"stops_drawn"`
}

func closeJSON(p *session.Portrait) *jsonClose {
	if p == nil {
		return nil
	}
	return &jsonClose{p.Starts, p.N, number(p.Scatter), p.Wild, p.Aside, positive(p.First), p.FirstOf, len(p.Stops)}
}
