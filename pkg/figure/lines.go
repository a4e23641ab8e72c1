package figure

import (
	"fmt"
	"slices"

	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
)

// OptionsFor are the options that all figures of a result share: its units and its
// modes.
func OptionsFor(res *session.Result) Options {
	return Options{Units: res.Settings.Units, Rows: res.Settings.Rows, Chosen: res.Settings.Chosen, Modes: res.Lineup(), logsAsModes: res.LogsAsModes()}
}

// OptionsOf are the options of the figures of an explanation: those of its result, or of
// its sheet where it explains no runs.
func OptionsOf(e *explain.Explanation) Options {
	if e.Result != nil {
		return OptionsFor(e.Result)
	}
	return Options{Units: e.Units, Modes: e.Sheet.ModeNames()}
}

// lineup is the modes that figures of a session draw; the place of a mode is its
// series. A mode then has one colour and one dash in all of them.
type lineup struct {
	modes       []string
	logsAsModes bool
}

// lineup is the modes of the options, then the others of runs and names as they
// appear.
func (o Options) lineup(runs []*session.TimedRun, names ...string) lineup {
	l := lineup{slices.Clone(o.Modes), o.logsAsModes || o.Modes == nil && !slices.ContainsFunc(runs, func(r *session.TimedRun) bool { return r.Mode != "" })}
	for _, r := range runs {
		names = append(names, l.mode(r))
	}
	for _, n := range names {
		if n != "" && !slices.Contains(l.modes, n) {
			l.modes = append(l.modes, n)
		}
	}
	return l
}

// mode is the name that a run is drawn under, "" for none.
func (l lineup) mode(r *session.TimedRun) string {
	if r.Mode == "" && l.logsAsModes && r.Log != nil {
		return r.Log.Name
	}
	return r.Mode
}

// series is that of a mode, NoSeries for "".
func (l lineup) series(mode string) int { return slices.Index(l.modes, mode) }

// Series are the series of runs, NoSeries for those without a mode among runs that
// have one.
func (o Options) Series(runs []*session.TimedRun) []int {
	l := o.lineup(runs)
	out := make([]int, len(runs))
	for i, r := range runs {
		out[i] = l.series(l.mode(r))
	}
	return out
}

// Line is how a mode is drawn: on white and on dark, as a browser writes colours, with
// its dashes.
type Line struct {
	Mode        string
	Light, Dark string
	// LightWord and DarkWord are the same hues for words, see Theme.Word.
	LightWord, DarkWord string
	Dash                []float64 // lengths of stroke and gap in points, none for a whole line
}

// Lines are the lines of a session's modes, in the order of their series.
func (o Options) Lines(runs []*session.TimedRun) []Line {
	var out []Line
	for i, mode := range o.lineup(runs).modes {
		l := Line{Mode: mode, Light: hex(light.Series(i)), Dark: hex(dark.Series(i)), LightWord: hex(light.Word(i)), DarkWord: hex(dark.Word(i)), Dash: []float64{}}
		for _, d := range light.Line(i).Dashes {
			l.Dash = append(l.Dash, d.Points())
		}
		out = append(out, l)
	}
	return out
}

func hex(p Paint) string {
	return fmt.Sprintf("#%02x%02x%02x", p.Value.R, p.Value.G, p.Value.B)
}

// key names the lines of runs and gives the entry of each: one for every mode, or
// one for every run where all are of one mode.
func (o Options) key(runs []*session.TimedRun) (key []KeyEntry, entry []int) {
	l := o.lineup(runs)
	count := map[string]int{}
	for _, r := range runs {
		count[l.mode(r)]++
	}
	at := map[string]int{}
	for i, r := range runs {
		mode := l.mode(r)
		e := KeyEntry{Series: l.series(mode), Weight: i, Text: r.ID}
		k, ok := at[mode]
		if len(count) > 1 {
			e = modeEntry(e.Series, mode, count[mode])
		}
		if !ok || len(count) == 1 {
			k = len(key)
			at[mode], key = k, append(key, e)
		}
		entry = append(entry, k)
	}
	return key, entry
}

// modeEntry names the line of a mode that stands for n runs.
func modeEntry(series int, mode string, n int) KeyEntry {
	mode = session.Called(mode)
	if n == 1 {
		return KeyEntry{Series: series, Text: mode + " (1 run)"}
	}
	return KeyEntry{Series: series, Text: fmt.Sprintf("%s (%d runs)", mode, n)}
}
