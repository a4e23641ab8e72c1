package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/uncert"
)

// jsonVerdict is what a comparison found of two modes at one target.
type jsonVerdict struct {
	A       string          `json:"a"`
	B       string          `json:"b"`
	Name    string          `json:"name"`
	From    timing.Origin   `json:"from"`
	Verdict compare.Verdict `json:"verdict"`
}

// StoredJSON writes the result as RunsJSON does, with its verdicts, which a later version
// is held against, see Since, and its scatter, see Offer.
func StoredJSON(w io.Writer, res *session.Result) error {
	j := runsJSON(res)
	j.Verdicts, j.Scatter = verdicts(res), scatters(res)
	if res.Sheet != nil {
		j.Vehicle = res.Sheet.Vehicle.Name
	}
	if len(res.StandingStarts()) > 0 {
		name, from, _ := res.Primary()
		j.Decides = &jsonDeciding{name, from}
	}
	if c, err := res.Compare(CompareTargets(res)); err == nil {
		if a := AnswerOf(c); a != nil {
			j.Answer = a.Verdicts
		}
	}
	return document.WriteJSON(w, j)
}

func verdicts(res *session.Result) []jsonVerdict {
	var out []jsonVerdict
	for _, name := range res.Settings.Targets {
		for _, o := range origins {
			if t := res.At(name, o.from); t != nil {
				for _, p := range t.Pairs {
					out = append(out, jsonVerdict{p.A, p.B, name, o.from, p.Verdict})
				}
			}
		}
	}
	return out
}

// Changed is how a result differs from what was found of the same logs before.
type Changed struct {
	By      string // what made the earlier result
	Runs    int    // runs of both
	Gone    int    // runs of the earlier result alone
	Times   int    // of both
	Moved   []Move // times that differ by more than the earlier half-width
	Turned  []Turn // verdicts that are others now
	Judged  int    // verdicts of both
	NoWords string // why no verdicts are compared, "" where they are
}

// Move is a time that moved by more than its half-width.
type Move struct {
	Run         string
	Name        string
	From        timing.Origin
	Before, Now [2]float64 // s, the time and its half-width
}

// Turn is a verdict that turned.
type Turn struct {
	A, B, Name  string
	From        timing.Origin
	Before, Now compare.Verdict
}

// launchWithin is how near the same launch is found by another version, in s: assumed,
// it tells any two runs of one log apart.
const launchWithin = 5

// Since holds a result against what StoredJSON or RunsJSON wrote of it before. Runs
// are the same by their log's bytes and their launch. It is nil where the earlier result
// was made by the same version and model. Verdicts are held against each other under the
// same sheet only. The error is for a body that is none.
func Since(body []byte, res *session.Result, sameSheet bool) (*Changed, error) {
	var old jsonRuns
	if err := json.Unmarshal(body, &old); err != nil {
		return nil, fmt.Errorf("the stored result: %w", err)
	}
	old.Settings.Model = max(1, old.Settings.Model) // the first edition did not say
	if old.Settings.Version == res.Settings.Version && old.Settings.Model == res.Settings.Model {
		return nil, nil
	}
	out := &Changed{By: session.MadeBy(old.Settings.Version, old.Settings.Model)}
	for i := range old.Runs {
		r := old.sameRun(&old.Runs[i], res)
		if r == nil {
			out.Gone++
			continue
		}
		out.Runs++
		out.times(&old.Runs[i], r)
	}
	switch {
	case !sameSheet:
		out.NoWords = "the sheet was changed since"
	case old.Verdicts == nil:
		out.NoWords = "it kept none"
	default:
		out.verdicts(old.Verdicts, res)
	}
	return out, nil
}

// sameRun is the run of a result that an earlier one has, nil where there is none.
func (j *jsonRuns) sameRun(old *jsonRun, res *session.Result) *session.TimedRun {
	var best *session.TimedRun
	nearest := float64(launchWithin)
	for _, l := range j.Logs {
		if l.Path != old.Log || old.Launch.IntoIt == nil {
			continue
		}
		for _, r := range res.Runs {
			if r.Log == nil || r.Log.SHA256 != l.SHA256 || r.Kind != old.Kind {
				continue
			}
			if d := math.Abs(r.LogSeconds - *old.Launch.IntoIt); d < nearest {
				best, nearest = r, d
			}
		}
	}
	return best
}

func (c *Changed) times(old *jsonRun, r *session.TimedRun) {
	for _, o := range old.Times {
		t, ok := r.Time(o.Name, o.From)
		if !ok || o.Seconds == nil || o.U95 == nil {
			continue
		}
		c.Times++
		if math.Abs(t.Seconds-*o.Seconds) > *o.U95 {
			c.Moved = append(c.Moved, Move{r.ID, o.Name, o.From, [2]float64{*o.Seconds, *o.U95}, [2]float64{t.Seconds, t.U95}})
		}
	}
}

func (c *Changed) verdicts(old []jsonVerdict, res *session.Result) {
	for _, n := range verdicts(res) {
		i := slices.IndexFunc(old, func(o jsonVerdict) bool { return o.A == n.A && o.B == n.B && o.Name == n.Name && o.From == n.From })
		if i < 0 {
			continue
		}
		c.Judged++
		if old[i].Verdict != n.Verdict {
			c.Turned = append(c.Turned, Turn{n.A, n.B, n.Name, n.From, old[i].Verdict, n.Verdict})
		}
	}
}

// String says in whole sentences how the result differs.
func (c *Changed) String() string {
	s := fmt.Sprintf("Against %s: ", c.By)
	if len(c.Moved) == 0 {
		s += fmt.Sprintf("none of %s moved by more than its half-width", plural(c.Times, "time"))
	} else {
		s += fmt.Sprintf("%d of %s moved by more than its half-width", len(c.Moved), plural(c.Times, "time"))
	}
	switch {
	case c.NoWords != "":
		s += "; verdicts are not compared: " + c.NoWords
	case len(c.Turned) == 0:
		s += fmt.Sprintf("; none of %s turned", plural(c.Judged, "verdict"))
	default:
		s += fmt.Sprintf("; %d of %s turned", len(c.Turned), plural(c.Judged, "verdict"))
	}
	if c.Gone > 0 {
		s += fmt.Sprintf("; not found any more: %s", plural(c.Gone, "run"))
	}
	return s + "."
}

// Lines are what moved and turned, one a line.
func (c *Changed) Lines() []string {
	var out []string
	for _, m := range c.Moved {
		out = append(out, fmt.Sprintf("%s, %s %s: %s s then, %s s now", m.Run, m.Name, OriginName(m.From), both(m.Before), both(m.Now)))
	}
	for _, t := range c.Turned {
		out = append(out, fmt.Sprintf("%s and %s, %s %s: %s then, %s now", t.A, t.B, t.Name, OriginName(t.From), told(t.A, t.B, t.Before), told(t.A, t.B, t.Now)))
	}
	return out
}

// briefly is how many lines Brief has room for.
const briefly = 6

// Brief is String with the first of Lines after it.
func (c *Changed) Brief() string {
	lines := c.Lines()
	more := ""
	if len(lines) > briefly {
		more = fmt.Sprintf(" And %d more: fromrest archive compare-versions lists them.", len(lines)-briefly)
		lines = lines[:briefly]
	}
	s := c.String()
	for _, l := range lines {
		s += " " + l + "."
	}
	return s + more
}

func both(x [2]float64) string {
	v, h := uncert.Format(x[0], x[1])
	return v + " ± " + h
}
