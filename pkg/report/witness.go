package report

import (
	"slices"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// WitnessTable is what other logs say of drives that count already: by how much each
// witness's time differs from the one that counts, with rollout and beneath from rest.
// It is nil where no drive was recorded twice.
func WitnessTable(res *session.Result) *document.Table {
	seen := only(res.Runs, func(r *session.TimedRun) bool { return r.WitnessOf != nil })
	if len(seen) == 0 {
		return nil
	}
	targets := headlineTargets(res, nil)
	t := document.TableOf(document.Headline, "Witnesses", append([]string{"witness", "drive"}, targets...)...)
	for _, r := range seen {
		row := document.Row{Name: r.ID, Unit: "s", Cells: []document.Cell{document.Words(r.WitnessOf.ID)}}
		parts := r.Partings()
		for _, name := range targets {
			c, below := parting(parts, name, timing.FromRollout), parting(parts, name, timing.FromRest)
			c.Below = &below
			row.Cells = append(row.Cells, c)
		}
		t.Rows = append(t.Rows, row)
	}
	t.Footnote("A witness is another log's recording of a drive that counts: shown with its times less those that count, never a run of its own. " + halfNote + " of the difference; with rollout, and beneath from rest.")
	return t
}

func parting(parts []session.Parting, name string, from timing.Origin) document.Cell {
	i := slices.IndexFunc(parts, func(p session.Parting) bool { return p.Name == name && p.From == from })
	if i < 0 {
		return document.None()
	}
	return document.Number(parts[i].Seconds, parts[i].U95)
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
