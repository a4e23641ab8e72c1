// Package testschema holds JSON that is written against its published schema, in tests.
//
// A schema is made of the wire struct by reflection, so that it cannot fall behind: a
// field without omitempty is required, one that may be null carries the tag
// jsonschema:"nullable", and a field that the struct lacks is refused. Limits: what a
// field means is said in the documents, not in the schema.
package testschema

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"
	"unicode"

	reflected "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Published fails the test unless the schema at path is that of the wire struct, every
// text keeps it, and none would with a field more. With update the schema is written anew.
func Published(t *testing.T, path string, wire any, update bool, texts ...[]byte) {
	t.Helper()
	r := &reflected.Reflector{Anonymous: true, ExpandedStruct: true, Namer: called}
	want, err := json.MarshalIndent(r.Reflect(wire), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	want = append(want, '\n')
	if update {
		if err := os.WriteFile(path, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if have, err := os.ReadFile(path); err != nil || !bytes.Equal(have, want) {
		t.Errorf("%s is not what is written; -update writes it anew (%v)", path, err)
	}
	schema, err := jsonschema.NewCompiler().Compile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range texts {
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %v", path, err)
		}
		v.(map[string]any)["surplus"] = true
		if schema.Validate(v) == nil {
			t.Errorf("%s: a field that nobody knows passes", path)
		}
	}
}

// called is the name of a type in a schema: "time" for jsonTime.
func called(t reflect.Type) string {
	s := []rune(strings.TrimPrefix(t.Name(), "json"))
	if len(s) > 0 {
		s[0] = unicode.ToLower(s[0])
	}
	return string(s)
}
