package report

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/sheet"
	"fromrest/pkg/testschema"
)

// The JSON of a comparison is as its published schema says, whole and with nothing
// known.
func TestCompareJSONKeepsItsSchema(t *testing.T) {
	schema, err := jsonschema.NewCompiler().Compile("../../docs/compare.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	whole, err := twoModes().Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]*compare.Result{"whole": whole, "nothing": {}} {
		var b bytes.Buffer
		if err := CompareJSON(&b, c); err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(&b)
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(`{"schema":"fromrest.compare/1"}`))
	if err != nil {
		t.Fatal(err)
	}
	if schema.Validate(v) == nil {
		t.Error("an older comparison passes")
	}
}

// The JSON of an explanation keeps its published schema, with logs and without, and
// nothing in it is null.
func TestExplainJSONKeepsItsSchema(t *testing.T) {
	alone, err := explain.Predicted(context.Background(), &sheet.Sheet{}, "mph")
	if err != nil {
		t.Fatal(err)
	}
	whole, err := explain.Of(context.Background(), twoModes())
	if err != nil {
		t.Fatal(err)
	}
	var texts [][]byte
	for _, e := range []*explain.Explanation{alone, whole} {
		var b bytes.Buffer
		if err := ExplainJSON(&b, e); err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(b.Bytes(), []byte("null")) {
			t.Error("null in it")
		}
		texts = append(texts, b.Bytes())
	}
	testschema.Published(t, "../../docs/explain.schema.json", &jsonExplanation{}, *update, texts...)
}

// The published schemas of runs, check and plan are those of what is written, and what is
// written keeps them.
func TestSchemasArePublished(t *testing.T) {
	res := sample()
	res.Judge()
	plan, err := compare.NewPlan(compare.PlanOptions{Modes: []string{"eco", "sport"}, Runs: 2}, nil)
	if err != nil {
		t.Fatal(err)
	}
	write := func(err error, b *bytes.Buffer) []byte {
		if err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	var runs, more, check, planned bytes.Buffer
	testschema.Published(t, "../../docs/runs.schema.json", &jsonRuns{}, *update, write(RunsJSON(&runs, res), &runs), write(RunsJSON(&more, twoModes()), &more))
	testschema.Published(t, "../../docs/check.schema.json", &jsonCheck{}, *update, write(CheckJSON(&check, res), &check))
	testschema.Published(t, "../../docs/plan.schema.json", &jsonPlan{}, *update, write(PlanJSON(&planned, &Plan{Plan: plan, Rooms: []session.Room{{Mode: "eco", Target: "1/4 mile", Distance: 402, Stop: 130, Margin: 100, U95: 20, Runs: 4}, {Mode: "sport", U95: math.NaN(), Unknown: "no runs"}}, Day: sheet.Plan{CoolDown: 600}}), &planned))
}
