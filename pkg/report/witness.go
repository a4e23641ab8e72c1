package report

import (
	"math"
	"slices"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// WitnessTable is what other logs say of drives that count already: by how much each
// witness's time differs from the one that counts. It is nil where no drive was recorded
// twice.
func WitnessTable(res *session.Result) *document.Table {
	seen := only(res.Runs, func(r *session.TimedRun) bool { return r.WitnessOf != nil })
	if len(seen) == 0 {
		return nil
	}
	t := newRunTable("Witnesses", seen)
	t.words("drive", func(r *session.TimedRun) string { return r.WitnessOf.ID })
	for _, o := range origins {
		for _, name := range headlineTargets(res, nil) {
			t.row(o.section, name, "s", func(r *session.TimedRun) document.Cell { return parting(r.Partings(), name, o.from) })
		}
	}
	t.Footnote("A witness is another log's recording of a drive that counts. It is shown by its times less those that count, and is never a run of its own; " + halfNote + " of the difference.")
	return t.Table
}

func parting(parts []session.Parting, name string, from timing.Origin) document.Cell {
	i := slices.IndexFunc(parts, func(p session.Parting) bool { return p.Name == name && p.From == from })
	if i < 0 {
		return document.None()
	}
	return document.Number(parts[i].Seconds, parts[i].U95)
}

// WitnessLine says in a clause whose witness a run is and by how much its times with
// rollout differ at some targets, "" for a run that is none.
func WitnessLine(r *session.TimedRun, targets []string) string {
	if r.WitnessOf == nil {
		return ""
	}
	parts := r.Partings()
	var by []string
	for _, name := range targets {
		if c := parting(parts, name, timing.FromRollout); !math.IsNaN(c.X) {
			by = append(by, name+" "+signed(c.X, c.U95)+" s")
		}
	}
	text := "witness of " + r.WitnessOf.ID + ", which counts"
	if len(by) > 0 {
		text += "; with rollout " + strings.Join(by, ", ")
	}
	return text
}

// jsonWitness is what a witness says of its drive.
type jsonWitness struct {
	Of          string        `json:"of"` // the run that counts
	Differences []jsonParting `json:"differences"`
}

// jsonParting is a witness's time less the one that counts.
type jsonParting struct {
	Name    string        `json:"name"`
	From    timing.Origin `json:"from"`
	Seconds *float64      `json:"seconds"`
	U95     *float64      `json:"u95_s"`
}

func witnessJSON(r *session.TimedRun) *jsonWitness {
	if r.WitnessOf == nil {
		return nil
	}
	return &jsonWitness{r.WitnessOf.ID, each(r.Partings(), func(p session.Parting) jsonParting {
		return jsonParting{p.Name, p.From, number(p.Seconds), number(p.U95)}
	})}
}

// jsonCopy is a log that is in another one, which was taken instead.
type jsonCopy struct {
	Path string `json:"path"`
	Of   string `json:"of"`
	Text string `json:"text"`
}

func copyJSON(c session.Copy) jsonCopy { return jsonCopy{c.Log.Path, c.Of.Path, c.String()} }
