package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Sections of a timing table.
const (
	SectionRun     = "run"
	SectionRest    = "from rest"
	SectionRollout = "with rollout"
	SectionTrap    = "trap speed, with rollout"
	SectionEnd     = "speed at the mark, with rollout"
	SectionPulls   = "rolling acceleration"
)

// origin is an origin of times with the section of its rows.
type origin struct {
	from    timing.Origin
	section string
}

var origins = []origin{{timing.FromRest, SectionRest}, {timing.FromRollout, SectionRollout}}

const (
	restNote = "From rest: timed from the first motion. With rollout: timed from the instant 1 ft (0.3048 m) has been covered, distances measured from there."
	halfNote = "± is half of the 95 % interval"
)

// runTable is a table being made in which a run is a column.
type runTable struct {
	*document.Table
	runs []*session.TimedRun
}

func newRunTable(title string, runs []*session.TimedRun) runTable {
	t := runTable{&document.Table{Title: title, Label: "Timing table"}, runs}
	for _, r := range runs {
		c := document.Column{Name: r.ID, Of: r.Mode, Struck: !r.Counted, N: 1}
		if i := strings.LastIndexByte(r.ID, '#'); i > 0 { // a log's name and the run's number
			c.Group, c.Short = r.ID[:i], r.ID[i:]
		}
		t.Columns = append(t.Columns, c)
	}
	return t
}

// row adds a row, unless no run has anything in it.
func (t runTable) row(section, name, unit string, cell func(*session.TimedRun) document.Cell) {
	row := document.Row{Section: section, Name: name, Unit: unit}
	row.Cells = each(t.runs, func(r *session.TimedRun) document.Cell {
		c := cell(r)
		c.Struck = !r.Counted
		return c
	})
	t.AddFilled(row)
}

// words adds a row of words on the runs.
func (t runTable) words(name string, f func(*session.TimedRun) string) {
	t.row(SectionRun, name, "", func(r *session.TimedRun) document.Cell { return document.Words(f(r)) })
}

// positive adds a row of quantities that are not known where they are not
// positive.
func (t runTable) positive(section, name, unit string, f func(*session.TimedRun) (x, u95 float64)) {
	t.row(section, name, unit, func(r *session.TimedRun) document.Cell { return known(f(r)) })
}

// known is a quantity that is not known where it is not positive.
func known(x, u95 float64) document.Cell {
	if !(x > 0) {
		return document.None()
	}
	return document.Number(x, u95)
}

// clock adds the row of the runs' times of day.
func (t runTable) clock(name string, zone *time.Location) {
	if zone != nil && zone != time.UTC {
		name += ", " + zone.String()
	}
	t.words(name, func(r *session.TimedRun) string { return launchIn(r, zone).Format("15:04:05.00") })
}

// RunTable is TimingTable with the notes a table needs that stands alone.
func RunTable(res *session.Result) *document.Table {
	t := TimingTable(res)
	t.Footnote(halfNote + ".")
	t.Footnote(restNote)
	return maker(t, res)
}

// TimingTable is the table of all runs: a run is a column, a target is a row,
// from rest and then with rollout, then trap speeds and pulls. Braking runs are
// not in it, see BrakingTable.
func TimingTable(res *session.Result) *document.Table {
	runs := only(res.Runs, func(r *session.TimedRun) bool { return r.Kind != segment.Braking })
	t := newRunTable("Timing table", runs)
	t.addRunRows(res)
	names := targetNames(res, runs, func(r *session.TimedRun) []timing.Time { return r.Times })
	for _, o := range origins {
		for _, name := range names {
			t.row(o.section, name, "s", func(r *session.TimedRun) document.Cell { return t.doubted(r, name, o.from) })
		}
	}
	unitName, per := SpeedUnit(res.Settings.Units)
	for _, name := range names {
		t.positive(SectionTrap+", "+unitName, name, unitName, func(r *session.TimedRun) (float64, float64) {
			tm, _ := r.Time(name, timing.FromRollout)
			return tm.TrapSpeed / per, tm.TrapU95 / per
		})
	}
	for _, name := range targetNames(res, runs, func(r *session.TimedRun) []timing.Time { return r.Pulls }) {
		t.row(SectionPulls, name, "s", func(r *session.TimedRun) document.Cell { return t.doubted(r, name, timing.FromSpeed) })
	}
	return t.Table
}

// addRunRows adds what is known of each run beside its times.
func (t runTable) addRunRows(res *session.Result) {
	t.words("mode", func(r *session.TimedRun) string { return r.Mode })
	t.addCounted()
	if res.Settings.All {
		t.words("kind", func(r *session.TimedRun) string { return string(r.Kind) })
	}
	t.clock("launch", res.Settings.Zone)
	t.words("heading", func(r *session.TimedRun) string { return unit.Heading(r.HeadingDeg) })
	unitName, per := SpeedUnit(res.Settings.Units)
	t.words("top speed", func(r *session.TimedRun) string {
		if !(r.MaxSpeed > 0) {
			return ""
		}
		return uncert.RoundHalfUp(r.MaxSpeed/per, 0) + " " + unitName
	})
	t.positive(SectionRun, "peak", "g", func(r *session.TimedRun) (float64, float64) {
		return r.PeakAccel / unit.GravityStandard, r.PeakAccelU95 / unit.GravityStandard
	})
	t.positive(SectionRun, "rollout", "s", func(r *session.TimedRun) (float64, float64) { return r.Rollout, r.RolloutU95 })
	t.words("flags", flagCodes)
}

// addCounted adds which runs count, with the reasons, unless all do.
func (t runTable) addCounted() {
	if !slices.ContainsFunc(t.runs, notCounted) {
		return
	}
	t.row(SectionRun, "counted", "", func(r *session.TimedRun) document.Cell {
		if r.Counted {
			return document.Words("yes")
		}
		c := document.Words("no")
		c.Notes = []int{t.Footnote(r.ID + " is not counted: " + reason(r))}
		return c
	})
}

// BrakingTable is the table of braking runs, a run a column; it has no columns
// where there are none.
func BrakingTable(res *session.Result) *document.Table {
	t := newRunTable("Braking", only(res.Runs, func(r *session.TimedRun) bool { return r.Kind == segment.Braking && r.Stop != nil }))
	unitName, per := SpeedUnit(res.Settings.Units)
	length, perLength := DistanceUnit(res.Settings.Units)
	t.clock("begin", res.Settings.Zone)
	t.row(SectionRun, "from", "", func(r *session.TimedRun) document.Cell {
		c := document.Words(uncert.RoundHalfUp(r.Stop.InitialSpeed/per, 1) + " " + unitName)
		if r.Stop.Nominal > 0 {
			c.Notes = []int{t.Footnote("distances are corrected to " +
				uncert.RoundHalfUp(r.Stop.Nominal/per, 1) + " " + unitName + " by the square of the speeds")}
		}
		return c
	})
	t.positive(SectionRun, "time", "s", func(r *session.TimedRun) (float64, float64) { return r.Stop.Seconds, r.Stop.SecU95 })
	t.positive(SectionRun, "distance", length, func(r *session.TimedRun) (float64, float64) {
		return r.Stop.Distance / perLength, r.Stop.U95 / perLength
	})
	t.positive(SectionRun, "corrected", length, func(r *session.TimedRun) (float64, float64) {
		return r.Stop.Corrected / perLength, r.Stop.CorU95 / perLength
	})
	t.positive(SectionRun, "MFDD", "g", func(r *session.TimedRun) (float64, float64) {
		return r.Stop.MFDD / unit.GravityStandard, r.Stop.MFDDU95 / unit.GravityStandard
	})
	return t.Table
}

// ModeTable is the timing table of a writer: a mode is a column, a target a row,
// each cell the mean of the counted runs with the half-width of its 95 %
// interval, over both directions where both were driven. Footnotes say which
// mode was driven one way, which cells rest on fewer runs, and which runs were
// left out and why.
func ModeTable(res *session.Result) *document.Table { return modeTable(res, false) }

// QuickestTable is ModeTable with the mode marked at each target that the comparison tells to
// be quicker than every other.
func QuickestTable(res *session.Result) *document.Table { return modeTable(res, true) }

func modeTable(res *session.Result, marked bool) *document.Table {
	t := &document.Table{Title: "Timing table, means of modes"}
	starts := res.StandingStarts()
	groups := res.Groups()
	if len(groups) == 0 {
		return t
	}
	runs := document.Row{Section: SectionRun, Name: "runs"}
	for _, g := range groups {
		n := g.Counted()
		t.Columns = append(t.Columns, document.Column{Name: g.Called(), Of: g.Name, N: n})
		c := document.Count(n)
		runs.Cells = append(runs.Cells, c)
	}
	t.Rows = append(t.Rows, runs)
	names := targetNames(res, starts, func(r *session.TimedRun) []timing.Time { return r.Times })
	for _, o := range origins {
		for _, name := range names {
			row := document.Row{Section: o.section, Name: name, Unit: "s"}
			for i, m := range res.Means(groups, name, o.from) {
				row.Cells = append(row.Cells, meanCell(t, groups[i].Name, m, t.Columns[i].N))
			}
			t.AddFilled(row)
		}
	}
	addOtherMeans(t, res, groups, starts, names)
	if marked {
		markQuickest(t, res)
	}
	t.Footnote(halfNote + " of the mean.")
	t.Footnote(restNote)
	for _, g := range groups {
		for _, r := range only(g.Runs, notCounted) {
			t.Footnote(fmt.Sprintf("Not counted: %s (%s), %s.", r.ID, g.Called(), reason(r)))
		}
	}
	return maker(t, res)
}

// addOtherMeans adds the means of what is known of runs beside their times: the highest
// acceleration, trap speeds, speeds at the mark, and rolling acceleration.
func addOtherMeans(t *document.Table, res *session.Result, groups []session.Group, starts []*session.TimedRun, names []string) {
	unitName, per := SpeedUnit(res.Settings.Units)
	rows := []document.Row{{Section: SectionRun, Name: "peak", Unit: "g"}}
	quantities, scale := []session.Quantity{session.PeakAcceleration}, []float64{unit.GravityStandard}
	add := func(section, name, unitName string, per float64, q session.Quantity) {
		rows = append(rows, document.Row{Section: section, Name: name, Unit: unitName})
		quantities, scale = append(quantities, q), append(scale, per)
	}
	for _, name := range names {
		add(SectionTrap+", "+unitName, name, unitName, per, session.TrapSpeed(name))
	}
	for _, name := range names {
		add(SectionEnd+", "+unitName, name, unitName, per, session.EndSpeed(name))
	}
	for _, name := range targetNames(res, starts, func(r *session.TimedRun) []timing.Time { return r.Pulls }) {
		add(SectionPulls, name, "s", 1, session.Pull(name))
	}
	for k, means := range res.MeansOf(groups, quantities...) {
		for i, m := range means {
			m.X, m.U95 = m.X/scale[k], m.U95/scale[k]
			rows[k].Cells = append(rows[k].Cells, meanCell(t, groups[i].Name, m, t.Columns[i].N))
		}
	}
	t.Rows = slices.Insert(t.Rows, 1, only(rows[:1], func(r document.Row) bool { return !r.Empty() })...)
	for _, r := range rows[1:] {
		t.AddFilled(r)
	}
}

// maker has a table that stands alone say what made it.
func maker(t *document.Table, res *session.Result) *document.Table {
	t.Maker = made(&res.Settings)
	t.Footnote("Made by " + res.Settings.MadeBy() + ".")
	return t
}

// meanCell is a mean of some of a mode's counted runs.
func meanCell(t *document.Table, mode string, m session.Mean, counted int) document.Cell {
	if m.N == 0 {
		return document.None()
	}
	c := document.Number(m.X, m.U95)
	if m.N < counted {
		c.Notes = append(c.Notes, t.Footnote(restOn(m.N, counted)))
	}
	if m.OneWay {
		c.Notes = append(c.Notes, t.Footnote(map[bool]string{true: "These runs", false: "This run"}[m.N > 1]+" of "+mode+" went one way only: grade and wind are in the time."))
	}
	return c
}

// restOn says on how many of a mode's counted runs a mean rests.
func restOn(n, counted int) string {
	s := fmt.Sprintf("Mean of %d of %d runs", n, counted)
	if n == 1 {
		s = fmt.Sprintf("One run of %d", counted)
	}
	if counted-n == 1 {
		return s + ": the other did not reach the target, or its time is in doubt."
	}
	return s + ": the others did not reach the target, or their times are in doubt."
}

// notCounted reports whether a run is shown and never counted.
func notCounted(r *session.TimedRun) bool { return !r.Counted }

// reason is why a run is not counted.
func reason(r *session.TimedRun) string { return cmp.Or(r.Excluded, "no reason was given") }

// timeCell is a time of a run, nothing where it is not known.
func timeCell(r *session.TimedRun, name string, from timing.Origin) (c document.Cell, doubt string) {
	times := r.Times
	if from == timing.FromSpeed {
		times = r.Pulls
	}
	i := slices.IndexFunc(times, func(t timing.Time) bool { return t.Name == name && t.From == from && !math.IsNaN(t.Seconds) })
	if i < 0 {
		return document.None(), ""
	}
	return document.Cell{X: times[i].Seconds, U95: times[i].U95, Struck: !r.Counts(&times[i])}, times[i].Doubt
}

// unknown is why a time of a run is not known although the target was reached, "" where
// it is.
func unknown(r *session.TimedRun, name string, from timing.Origin) string {
	for _, t := range slices.Concat(r.Times, r.Pulls) {
		if t.Name == name && t.From == from {
			return t.Reason
		}
	}
	return ""
}

// doubted is a time of a run with a footnote where a flag touches it.
func (t runTable) doubted(r *session.TimedRun, name string, from timing.Origin) document.Cell {
	c, code := timeCell(r, name, from)
	if why := unknown(r, name, from); why != "" {
		c = document.Words("unknown")
		c.Notes = []int{t.Footnote(r.ID + ", " + name + " " + OriginName(from) + ": " + why)}
		return c
	}
	if code != "" {
		text := code
		for _, f := range r.Flags {
			if f.Code == code {
				text = f.Text
			}
		}
		c.Notes = []int{t.Footnote(r.ID + ": " + text)}
	}
	return c
}

// flagCodes are the codes of what was flagged in a run.
func flagCodes(r *session.TimedRun) string {
	return strings.Join(each(r.Flags, func(f segment.Flag) string { return f.Code }), " ")
}

// targetNames are the targets that tables show, of those that some run was timed to:
// the rows of the settings, every target where these name none.
func targetNames(res *session.Result, runs []*session.TimedRun, times func(*session.TimedRun) []timing.Time) []string {
	var found []string
	for _, r := range runs {
		for _, t := range times(r) {
			if !slices.Contains(found, t.Name) {
				found = append(found, t.Name)
			}
		}
	}
	if res.Settings.Rows == nil {
		return found
	}
	return only(res.Settings.Rows, func(n string) bool { return slices.Contains(found, n) })
}

// only picks those of some things that are wanted, nil where none is.
func only[T any](all []T, wanted func(T) bool) []T {
	var out []T
	for _, x := range all {
		if wanted(x) {
			out = append(out, x)
		}
	}
	return out
}
