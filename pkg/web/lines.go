package web

import (
	"fromrest/pkg/figure"
	"fromrest/pkg/session"
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
