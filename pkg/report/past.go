package report

import (
	"encoding/json"
	"fmt"
	"math"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// jsonScatter is how far runs scattered at one target, in a result that is kept.
type jsonScatter struct {
	Name    string        `json:"name"`
	From    timing.Origin `json:"from"`
	Scatter float64       `json:"scatter_s"`
	DF      float64       `json:"degrees_of_freedom"`
}

// scatters are those at the target that decides, from both origins.
func scatters(res *session.Result) []jsonScatter {
	name, _, _ := res.Primary()
	var out []jsonScatter
	for _, o := range origins {
		if t := res.At(name, o.from); t != nil && t.Model.DF >= 1 && t.Model.Residual > 0 {
			out = append(out, jsonScatter{name, o.from, t.Model.Residual, t.Model.DF})
		}
	}
	return out
}

// Offer says in a line how far runs scattered in past sessions at the target that
// decides, and how a sheet would take it into account: those of the same vehicle, else
// of any. bodies are what StoredJSON wrote of them. It is "" where the comparison has a
// past already, or none of the sessions tells.
func Offer(res *session.Result, bodies [][]byte) string {
	if res.Sheet == nil || len(res.Sheet.Past) > 0 {
		return ""
	}
	name, from, _ := res.Primary()
	vehicle := res.Sheet.Vehicle.Name
	var same, other pastScatter
	for _, b := range bodies {
		var old jsonRuns
		if json.Unmarshal(b, &old) != nil {
			continue // of an edition that kept something else
		}
		for _, s := range old.Scatter {
			switch {
			case s.Name != name || s.From != from:
			case vehicle != "" && old.Vehicle == vehicle:
				same.add(s)
			default:
				other.add(s)
			}
		}
	}
	p, of := same, "this vehicle"
	if p.sessions == 0 {
		if p, of, vehicle = other, "other vehicles", ""; p.sessions == 0 {
			return ""
		}
	}
	return fmt.Sprintf("In %s of %s runs scattered by %s s at %s %s. To have the verdict rest on that too, the sheet takes: [[past]] target = %q, from = %q, scatter_s = %.4f, degrees_of_freedom = %.0f, vehicle = %q.",
		plural(p.sessions, "past session"), of, uncert.RoundHalfUp(p.sd(), 3), name, OriginName(from), name, from, p.sd(), p.df, vehicle)
}

// pastScatter pools the scatter of sessions.
type pastScatter struct {
	sessions int
	df, sum  float64 // degrees of freedom, and their sum of squares in s²
}

func (p *pastScatter) add(s jsonScatter) {
	p.sessions++
	p.df += s.DF
	p.sum += s.DF * s.Scatter * s.Scatter
}

func (p *pastScatter) sd() float64 { return math.Sqrt(p.sum / p.df) }
