package tomltext

import (
	"strings"
	"testing"
)

func TestTooDeep(t *testing.T) {
	deep := strings.Repeat("a.", Depth)
	for name, c := range map[string]struct {
		text string
		want int
	}{
		"empty":                    {"", 0},
		"a sheet":                  {"title = \"x\"\n[[run]]\nid = 'a#1'\n[vehicle.driveline]\nratio = [[1.5, 2.5], [3.5]]\n", 0},
		"as deep as may be":        {deep[:2*Depth-1] + " = 1", 0},
		"a long name":              {"a = 1\n" + deep + "b = 1", 2},
		"quoted parts":             {strings.Repeat(`"a b".`, Depth) + "b = 1", 1},
		"blanks between":           {strings.Repeat("a . ", Depth) + "b = 1", 1},
		"a deep table":             {"\n\n[" + deep + "b]", 3},
		"nested lists":             {"a = " + strings.Repeat("[", Depth+1), 1},
		"over lines":               {"a = " + strings.Repeat("[\n", Depth+1), Depth + 1},
		"inline tables":            {"a = " + strings.Repeat("{a = ", Depth+1), 1},
		"a list of many":           {"a = [" + strings.Repeat("[1.5], ", 5000) + "]", 0},
		"many keys":                {strings.Repeat("a.b = 1\n", 5000), 0},
		"dots in a string":         {`a = "` + deep + `"`, 0},
		"dots in a comment":        {"# " + deep + strings.Repeat("[", 99), 0},
		"escaped quotes":           {`a = "\"` + strings.Repeat("[", 99) + `"`, 0},
		"an ellipsis":              {`a = """` + "\n" + strings.Repeat(".", 200) + "\n\"\"\"", 0},
		"a quote that never close": {"a = \"" + strings.Repeat("[", 99), 1},
	} {
		if got := TooDeep(c.text); got != c.want {
			t.Errorf("%s: line %d, want %d", name, got, c.want)
		}
	}
}
