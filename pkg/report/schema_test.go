package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fromrest/pkg/session/compare"
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
