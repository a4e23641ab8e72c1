package pkg_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
)

// level orders the packages: a package may import only packages of a lower
// level, and those of its own level named in sideways.
var level = map[string]int{
	"unit": 0, "uncert": 0, "diag": 0, "tomltext": 0,
	"recording": 1, "motion": 1, "motion/kalman": 1, "stats": 1, "vehicle/air": 1, "vehicle/driveline": 1,
	"testlog": 1, "bench": 8, // for tests only
	"format/nmea": 2, "format/fit": 2, "format/csv": 2, "format/gpx": 2, "format/ubx": 2, "synth": 2,
	"format": 3, "motion/estimate": 3, "motion/align": 3, "motion/segment": 3,
	"motion/timing": 4, "sheet": 4,
	"session/compare": 5, "session": 6,
	"figure": 7, "report": 7, "archive": 7, "web": 8,
}

// sideways are the imports allowed inside one level.
var sideways = map[string]bool{
	"report figure":                  true, // the report inlines the figures
	"motion/estimate motion/segment": true, // estimation happens inside a segment's window
	"testlog recording":              true, // tests check what a reader made
}

func TestImportsFollowTheArrows(t *testing.T) {
	seen := 0
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || filepath.Dir(path) == "." {
			return err
		}
		from := filepath.ToSlash(filepath.Dir(path))
		lf, ok := level[from]
		if !ok {
			t.Errorf("%s: package %s has no level in the table", path, from)
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			return nil
		}
		if strings.HasSuffix(path, "_test.go") && strings.HasSuffix(f.Name.Name, "_test") {
			return nil // an external test may look from anywhere
		}
		for _, im := range f.Imports {
			to, ok := strings.CutPrefix(strings.Trim(im.Path.Value, `"`), "fromrest/pkg/")
			if !ok || to == from {
				continue
			}
			seen++
			if to == "testlog" && !strings.HasSuffix(path, "_test.go") {
				t.Errorf("%s imports damage, which is for tests", path)
			}
			lt, ok := level[to]
			if !ok {
				t.Errorf("%s imports %s, which has no level in the table", path, to)
				continue
			}
			if lt >= lf && !sideways[from+" "+to] {
				t.Errorf("%s: %s (level %d) may not import %s (level %d)", path, from, lf, to, lt)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen == 0 {
		t.Fatal("no import was looked at")
	}
}
