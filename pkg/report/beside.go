package report

import (
	"fmt"
	"io"
	"math"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// BesideText writes for a terminal how good two logs of one drive are and how one follows
// the other; in full all that is known of each.
func BesideText(w io.Writer, res *session.Result, b *session.Beside, full bool) error {
	doc := append(checkBlocks(res, full), besideBlocks(b)...)
	if t := WitnessTable(res); t != nil {
		doc = append(doc, document.Heading{Text: "Differences, s"}, t)
	}
	return document.Text(w, append(doc, madeBy(&res.Settings))...)
}

// besideBlocks say how one log follows the other.
func besideBlocks(b *session.Beside) []document.Block {
	items := []document.Term{{Name: "delay", Text: b.Reason}}
	if h := b.Behind; h != nil {
		late := fmt.Sprintf("%s shows a steady pull %s s %s than %s, told by %s", b.Log.Name, seconds(math.Abs(h.Late.X), h.Late.U95()), laterEarlier(h.Late.X), b.Other.Name, plural(h.N, "speed"))
		if b.Clocks {
			late = fmt.Sprintf("cannot be told: the clocks have no zero in common, and are %s s apart with it", seconds(math.Abs(h.Late.X), h.Late.U95()))
		}
		items = filled(document.Term{Name: "delay", Text: late}, document.Term{Name: "smoothing", Text: besideSmoothing(b)},
			document.Term{Name: "scale", Text: fmt.Sprintf("%s shows %s of its speed", b.Log.Name, plusMinus(h.Scale.X, h.Scale.U95()))},
			document.Term{Name: "left over", Text: fmt.Sprintf("%s m/s, the robust standard deviation of their differences; noise of one speed: %s %s, %s %s", figures(h.Scatter, 2),
				b.Log.Name, noiseOf(b.Log), b.Other.Name, noiseOf(b.Other))})
	}
	for _, s := range b.Sensors {
		text := "its accelerometer does not tell: " + s.Reason
		if s.Reason == "" {
			text = fmt.Sprintf("the speed of %s is %s s %s than the accelerometer of %s, smoothing included", s.Speed.Name, seconds(math.Abs(s.Late.X), s.Late.U95()), laterEarlier(s.Late.X), s.Accel.Name)
		}
		items = append(items, document.Term{Name: "accelerometer", Text: text})
	}
	items = append(items, document.Term{Name: "common times", Text: commonText(b)})
	return []document.Block{document.Heading{Text: b.Log.Name + " beside " + b.Other.Name}, document.Terms{Items: items, Width: 13, Layout: document.Layout{Close: true, Indent: 2}}}
}

// seconds prints a number of seconds with its half-width, no finer than a millisecond.
func seconds(x, u95 float64) string {
	const finest = 0.001
	v, h := uncert.Format(x, math.Max(u95, finest))
	return v + " ± " + h
}

func laterEarlier(d float64) string {
	if d < 0 {
		return "earlier"
	}
	return "later"
}

func noiseOf(l *session.Log) string {
	if !(l.Quality.SpeedNoise > 0) {
		return "not known"
	}
	return figures(l.Quality.SpeedNoise, 2)
}

// besideSmoothing says which of two logs smooths more, "" where it is not known.
func besideSmoothing(b *session.Beside) string {
	x, half := b.Behind.Smoothing.X, b.Behind.Smoothing.U95()
	switch {
	case math.IsNaN(half):
		return ""
	case math.Abs(x) <= half:
		return fmt.Sprintf("neither clearly smooths more: by a time constant of no more than %s s", uncert.RoundHalfUp(math.Abs(x)+half, 2))
	}
	more, less := b.Log.Name, b.Other.Name
	if x < 0 {
		more, less = less, more
	}
	return fmt.Sprintf("%s smooths more than %s, by a time constant of %s", more, less, seconds(math.Abs(x), half)+" s")
}

// commonText counts the times that both logs have.
func commonText(b *session.Beside) string {
	if len(b.Common) == 0 {
		return "none: no start that both recorded"
	}
	n, agree := map[timing.Origin]int{}, map[timing.Origin]int{}
	for _, c := range b.Common {
		if n[c.Less.From]++; c.Agree {
			agree[c.Less.From]++
		}
	}
	return fmt.Sprintf("%d of %d from rest and %d of %d with rollout agree within both intervals", agree[timing.FromRest], n[timing.FromRest], agree[timing.FromRollout], n[timing.FromRollout])
}

// jsonBeside is two logs of one drive held against each other; positive is the first log's
// being later, smoother or faster.
type jsonBeside struct {
	Log          string             `json:"log"`
	Other        string             `json:"other"`
	Late         *float64           `json:"late_s,omitempty"`
	LateU95      *float64           `json:"late_u95_s,omitempty"`
	ClocksApart  bool               `json:"clocks_have_no_common_zero,omitempty"`
	Smoothing    *float64           `json:"smoothing_s,omitempty"`
	SmoothingU95 *float64           `json:"smoothing_u95_s,omitempty"`
	Scale        *float64           `json:"scale,omitempty"`
	ScaleU95     *float64           `json:"scale_u95,omitempty"`
	Scatter      *float64           `json:"scatter_mps,omitempty"`
	Samples      int                `json:"samples,omitempty"`
	Reason       string             `json:"reason,omitempty"`
	Sensors      []jsonBesideSensor `json:"accelerometers,omitempty"`
	Common       []jsonBesideTime   `json:"common"`
}

type jsonBesideSensor struct {
	Speed   string   `json:"speed_of"`
	Accel   string   `json:"accelerometer_of"`
	Late    *float64 `json:"late_s,omitempty"`
	LateU95 *float64 `json:"late_u95_s,omitempty"`
	Reason  string   `json:"reason,omitempty"`
}

type jsonBesideTime struct {
	Run   string `json:"run"` // of the other log
	Of    string `json:"of"`
	Agree bool   `json:"agree"`
	jsonParting
}

// BesideJSON writes the same for scripts: the JSON of a check with what both say of each other.
func BesideJSON(w io.Writer, res *session.Result, b *session.Beside) error {
	j := &jsonBeside{Log: b.Log.Path, Other: b.Other.Path, Reason: b.Reason, ClocksApart: b.Clocks, Common: []jsonBesideTime{}}
	if h := b.Behind; h != nil {
		j.Late, j.LateU95, j.Smoothing, j.SmoothingU95 = number(h.Late.X), number(h.Late.U95()), number(h.Smoothing.X), number(h.Smoothing.U95())
		j.Scale, j.ScaleU95, j.Scatter, j.Samples = number(h.Scale.X), number(h.Scale.U95()), number(h.Scatter), h.N
	}
	for _, s := range b.Sensors {
		k := jsonBesideSensor{Speed: s.Speed.Path, Accel: s.Accel.Path, Reason: s.Reason}
		if s.Reason == "" {
			k.Late, k.LateU95 = number(s.Late.X), number(s.Late.U95())
		}
		j.Sensors = append(j.Sensors, k)
	}
	for _, c := range b.Common {
		j.Common = append(j.Common, jsonBesideTime{Run: c.Run.ID, Of: c.Run.WitnessOf.ID, Agree: c.Agree,
			jsonParting: jsonParting{c.Less.Name, c.Less.From, number(c.Less.Seconds), number(c.Less.U95)}})
	}
	out := checkJSON(res)
	out.Beside = j
	return document.WriteJSON(w, out)
}
