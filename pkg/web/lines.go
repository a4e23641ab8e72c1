package web

import (
	"math"
	"net/http"
	"strconv"
	"strings"

	"fromrest/pkg/figure"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// lineView is how a mode is drawn on the page: as in every figure of its session.
type lineView struct {
	Mode      string    `json:"mode"`
	Light     string    `json:"light"`
	Dark      string    `json:"dark"`
	LightWord string    `json:"lightWord"` // of words in the colour of the line
	DarkWord  string    `json:"darkWord"`
	Dash      []float64 `json:"dash"` // lengths of stroke and gap
}

// linesView is how the modes of a session and their runs are drawn.
type linesView struct {
	Modes   []lineView      `json:"modes"`
	Weights []figure.Weight `json:"weights"` // of the runs of one mode, where they are told apart
	Runs    map[string]int  `json:"runs"`    // the place in Modes, -1 for a run without a mode where others have one
}

func viewLines(res *session.Result) linesView {
	o := figure.OptionsFor(res)
	v := linesView{Weights: figure.Weights(), Runs: map[string]int{}}
	v.Modes = each(o.Lines(res.Runs), func(l figure.Line) lineView { return lineView(l) })
	for i, series := range o.Series(res.Runs) {
		v.Runs[res.Runs[i].ID] = series
	}
	return v
}

// viewUnits are the units that the page shows.
func viewUnits(units string) unitView {
	u := unit.ShownIn(units)
	return unitView{u.Speed, u.SpeedPer, u.Distance, u.DistancePer, unit.GravityStandard}
}

// traceView is one run's estimate in columns: what the overlay is drawn from.
type traceView struct {
	ID   string   `json:"id"`
	Mode string   `json:"mode"`
	T0   number   `json:"t0"` // s from the launch to the rollout
	T    []number `json:"t"`  // s since the launch
	S    []number `json:"s"`  // m since the launch
	V    []number `json:"v"`  // m/s
	A    []number `json:"a"`  // m/s²
	SV   []number `json:"sv"` // m/s, half-width of the 95 % interval
	SA   []number `json:"sa"` // m/s², the same
}

// number is a float of at most five decimals; not a number is null.
type number float64

// MarshalJSON implements json.Marshaler.
func (n number) MarshalJSON() ([]byte, error) {
	x := float64(n)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, math.Round(x*1e5)/1e5, 'f', -1, 64), nil
}

// traces are those of the runs asked for, by their ids on a line each.
func traces(r *http.Request, w *work) (any, error) {
	ids := strings.Split(r.URL.Query().Get("runs"), "\n")
	if len(ids) > maxTraces {
		return nil, &errEdit{"at most " + strconv.Itoa(maxTraces) + " traces at a time"}
	}
	runs := map[string]*session.TimedRun{}
	for _, r := range w.snapshot().Runs {
		runs[r.ID] = r
	}
	out := []traceView{}
	for _, id := range ids {
		if r := runs[id]; r != nil && r.Trace.Len() > 1 {
			out = append(out, viewTrace(r))
		}
	}
	return out, nil
}

func viewTrace(r *session.TimedRun) traceView {
	tr := &r.Trace
	wide := func(sd []float64) []number {
		out := make([]number, len(tr.T))
		for i := range out {
			out[i] = number(math.NaN())
			if i < len(sd) {
				out[i] = number(uncert.Z95 * sd[i])
			}
		}
		return out
	}
	plain := func(x []float64) []number { return each(x, func(v float64) number { return number(v) }) }
	return traceView{ID: r.ID, Mode: r.Mode, T0: number(r.Rollout), T: plain(tr.T), S: plain(tr.S), V: plain(tr.V), A: plain(tr.A),
		SV: wide(tr.SV), SA: wide(tr.SA)}
}
