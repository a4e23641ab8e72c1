package format

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// pieces is a log cut into what stands before its records, the records, and what
// stands behind them.
func pieces(t *testing.T, name string) (head string, records []string, tail string) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("../../fixtures", name))
	if err != nil {
		t.Fatal(err)
	}
	text := string(b)
	switch filepath.Ext(name) {
	case ".csv":
		i := strings.IndexByte(text, '\n') + 1
		rows := strings.SplitAfter(text[i:], "\n")
		return text[:i], rows[:len(rows)-1], ""
	case ".gpx":
		i, j := strings.Index(text, "<trkpt"), strings.LastIndex(text, "</trkpt>")+len("</trkpt>")
		return text[:i], strings.SplitAfter(text[i:j], "</trkpt>"), text[j:]
	}
	// Sentences: a record begins with RMC.
	for i, r := range strings.SplitAfter(text, "$GNRMC") {
		if r = strings.TrimSuffix(r, "$GNRMC"); i == 0 {
			head = r
		} else {
			records = append(records, "$GNRMC"+r)
		}
	}
	return head, records, ""
}

// Whatever a log's format, one whose records come in another order gives the same
// fixes, and says what it found.
func TestTimeStepsAlikeInEveryFormat(t *testing.T) {
	for _, name := range []string{"session-10hz.nmea", "session-10hz.csv", "session-5hz-hold.gpx"} {
		head, records, tail := pieces(t, name)
		read := func(records []string) *recording.Recording {
			t.Helper()
			log, err := Read(t.Context(), strings.NewReader(head+strings.Join(records, "")+tail), name, Options{})
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			return log.Recording
		}
		whole := read(records)
		n := len(records)
		swapped := slices.Clone(records)
		for i := 0; i+1 < n; i += 2 {
			swapped[i], swapped[i+1] = swapped[i+1], swapped[i]
		}
		for what, c := range map[string]struct {
			records []string
			kind    string
			effect  diag.Effect
			count   int // 0 for any
		}{
			"later half first":     {slices.Concat(records[n/2:], records[:n/2]), diag.TimeStep, diag.Suspect, 1},
			"swapped in pairs":     {swapped, diag.TimeOrder, diag.Note, 0},
			"the log twice":        {slices.Concat(records, records), diag.TimeRepeated, diag.Dropped, whole.Primary().Len()},
			"a hundred rows twice": {slices.Concat(records[:n/2], records[n/2-100:]), diag.TimeRepeated, diag.Dropped, 100},
		} {
			got := read(c.records)
			a, b := whole.Primary(), got.Primary()
			if !slices.Equal(a.Nanos(), b.Nanos()) || !slices.EqualFunc(a.Col(recording.Speed), b.Col(recording.Speed), func(x, y float64) bool { return x == y || x != x && y != y }) {
				t.Errorf("%s, %s: %d fixes, want the %d of the log", name, what, b.Len(), a.Len())
			}
			told := 0
			for _, g := range got.Problems.Groups() {
				if g.Kind == c.kind && g.Effect == c.effect {
					told = g.Count
				}
			}
			if told == 0 || c.count > 0 && told != c.count {
				t.Errorf("%s, %s: told %d times of %s, want %d", name, what, told, c.kind, c.count)
			}
		}
	}
}

// The two formats of bytes.
func TestTimeStepsInUBX(t *testing.T) {
	b, err := os.ReadFile("../../../shared/data/ubx/pygpsdata-HNR.log")
	if err != nil {
		t.Skip("the folder of real recordings is absent")
	}
	whole, err := Read(t.Context(), bytes.NewReader(b), "x", Options{})
	if err != nil {
		t.Fatal(err)
	}
	twice, err := Read(t.Context(), bytes.NewReader(slices.Concat(b, b)), "x", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, tr := range whole.Recording.Tracks {
		if got := twice.Recording.Tracks[i]; !slices.Equal(got.Nanos(), tr.Nanos()) {
			t.Errorf("%s: %d fixes, want %d", tr.Name, got.Len(), tr.Len())
		}
	}
	if n := twice.Recording.Problems.Count(diag.Dropped); n == 0 {
		t.Error("nothing is said of the repeats")
	}
}
