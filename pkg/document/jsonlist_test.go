package document

import (
	"bytes"
	"slices"
	"testing"
)

// A list that is written one by one is written as WriteJSON does it, whatever stands in it.
func TestWriteJSONList(t *testing.T) {
	type item struct {
		Name string   `json:"name"`
		Runs []string `json:"runs"`
	}
	type all struct {
		First string `json:"first"`
		Runs  []item `json:"runs"`
		Last  []int  `json:"last"`
	}
	for _, items := range [][]item{{}, {{"a", nil}}, {{"<b> & \n  \"runs\": []", []string{}}, {"c", []string{"x", "y"}}}} {
		v := all{First: "\n  \"runs\": []", Runs: items, Last: []int{1}}
		var want, got bytes.Buffer
		if err := WriteJSON(&want, v); err != nil {
			t.Fatal(err)
		}
		v.Runs = []item{}
		if err := WriteJSONList(&got, v, "runs", slices.Values(items)); err != nil {
			t.Fatal(err)
		}
		if got.String() != want.String() {
			t.Errorf("got\n%swant\n%s", got.String(), want.String())
		}
	}
	if err := WriteJSONList(&bytes.Buffer{}, 3, "runs", slices.Values([]int{1})); err == nil {
		t.Error("a value without the list was taken")
	}
}
