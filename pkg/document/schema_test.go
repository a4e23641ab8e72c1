package document

import (
	"bytes"
	"flag"
	"testing"

	"fromrest/pkg/testschema"
)

var update = flag.Bool("update", false, "write the published schema anew")

func TestSchemaIsPublished(t *testing.T) {
	table := TableOf(Numbers, "Two runs", "", "calm", "full")
	table.Rows = []Row{{Section: "from rest", Name: "60 ft", Unit: "s", Cells: []Cell{Number(3.4917, 0.0312), None()}}}
	table.Rows[0].Cells[0].Notes = []int{table.Footnote("no tractive force for 1.3 s")}
	var b bytes.Buffer
	if err := JSON(&b, table); err != nil {
		t.Fatal(err)
	}
	testschema.Published(t, "../../docs/table.schema.json", &jsonTable{}, *update, b.Bytes())
}
