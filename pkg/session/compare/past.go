package compare

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
)

// Schema names the JSON of a comparison.
const Schema = "fromrest.compare/2"

// schemas are those that ReadPast takes: the scatter means the same in both.
var schemas = []string{Schema, "fromrest.compare/1"}

// Scatter is a standard deviation of repeated times known from elsewhere.
type Scatter struct {
	SD      float64 // s, of times as measured
	DF      float64 // degrees of freedom it rests on
	Same    bool    // it is of the same vehicle
	Vehicle string  // whose it is, "" where not known
	From    string  // where it is known from, such as "a past session"
}

// Past is what a past session's comparison knows of the scatter.
type Past struct {
	Vehicle string                // its name, "" where not known
	at      map[[2]string]Scatter // by target and origin
}

// mostPast is how long the JSON of a past comparison may be, in bytes; assumed.
const mostPast = 64 << 20

// ReadPast reads the scatter from the JSON of a past comparison; the name is that
// of its file. The error is for anything else, and for a comparison without runs
// enough to show their scatter.
func ReadPast(r io.Reader, name string) (*Past, error) {
	var in struct {
		Schema  string
		Vehicle string
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
	if !slices.Contains(schemas, in.Schema) {
		return nil, fmt.Errorf("%s: schema %q, want %q: write it with fromrest compare --format json", name, in.Schema, Schema)
	}
	p := &Past{Vehicle: in.Vehicle, at: map[[2]string]Scatter{}}
	for _, t := range in.Targets {
		if sd := t.Model.Residual; sd != nil && *sd > 0 && t.Model.DF >= 1 {
			p.at[[2]string{t.Name, t.From}] = Scatter{SD: *sd, DF: t.Model.DF, From: fmt.Sprintf("%s (%.3f s, %g degrees of freedom)", name, *sd, t.Model.DF)}
		}
	}
	if len(p.at) == 0 {
		return nil, fmt.Errorf("%s: no target of it had runs enough to show their scatter", name)
	}
	return p, nil
}

// At returns the scatter at a target, nil where the past session has none; vehicle
// is the name of the one that is now compared.
func (p *Past) At(target, from, vehicle string) *Scatter {
	if s, ok := p.at[[2]string{target, from}]; ok {
		s.Same, s.Vehicle = vehicle != "" && vehicle == p.Vehicle, p.Vehicle
		return &s
	}
	return nil
}
