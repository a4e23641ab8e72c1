package compare

import (
	"encoding/json"
	"fmt"
	"io"
)

// Schema names the JSON of a comparison that ReadPast takes.
const Schema = "fromrest.compare/1"

// Past is what a past session's comparison knows of the scatter, by target and
// origin.
type Past map[[2]string]Scatter

// mostPast is how long the JSON of a past comparison may be, in bytes; assumed.
const mostPast = 64 << 20

// ReadPast reads the scatter from the JSON of a past comparison; the name is that
// of its file. The error is for anything else, and for a comparison without runs
// enough to show their scatter.
func ReadPast(r io.Reader, name string) (Past, error) {
	var in struct {
		Schema  string
		Targets []struct {
			Name, From string
			Model      struct {
				Residual *float64 `json:"residual_s"`
				DF       float64  `json:"residual_df"`
			}
		}
	}
	if err := json.NewDecoder(io.LimitReader(r, mostPast)).Decode(&in); err != nil {
		return nil, fmt.Errorf("%s: not the JSON of a comparison: %w", name, err)
	}
	if in.Schema != Schema {
		return nil, fmt.Errorf("%s: schema %q, want %q: write it with fromrest compare --format json", name, in.Schema, Schema)
	}
	p := Past{}
	for _, t := range in.Targets {
		if sd := t.Model.Residual; sd != nil && *sd > 0 && t.Model.DF >= 1 {
			p[[2]string{t.Name, t.From}] = Scatter{SD: *sd, DF: t.Model.DF, From: fmt.Sprintf("%s (%.3f s, %g degrees of freedom)", name, *sd, t.Model.DF)}
		}
	}
	if len(p) == 0 {
		return nil, fmt.Errorf("%s: no target of it had runs enough to show their scatter", name)
	}
	return p, nil
}

// At returns the scatter at a target, nil where the past session has none.
func (p Past) At(target, from string) *Scatter {
	if s, ok := p[[2]string{target, from}]; ok {
		return &s
	}
	return nil
}
