package pkg_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"
)

// floors are the packages from the ground up. A package imports only those of
// the floors below its own, and those of its own floor named in sideways.
var floors = []string{
	"unit uncert diag stats tomltext testlog testschema motion/kalman motion/ramp",
	"recording motion motion/beside session/compare/contrast vehicle/air vehicle/driveline cache format/csv/text",
	"format/csv/header",
	"format/csv/clock",
	"format/nmea format/fit format/csv format/gpx format/ubx format/survey format/can sheet motion/segment motion/accel synth",
	"format/jsonlines format/kinds",
	"format motion/align motion/inertial motion/estimate",
	"motion/timing session/compare session/outside",
	"session",
	"session/explain session/history",
	"figure document",
	"report archive dataset web/door",
	"web bench worlds",
}

// sideways are the imports allowed inside one floor or upwards.
var sideways = map[string]bool{
	"testlog recording": true, // tests check what a reader made
	"stats uncert":      true, // Student's interval over the normal one
}

// level is the floor of each package, from 0.
var level = func() map[string]int {
	level := map[string]int{}
	for i, names := range floors {
		for _, name := range strings.Fields(names) {
			level[name] = i
		}
	}
	return level
}()

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
			if strings.HasPrefix(to, "test") && !strings.HasSuffix(path, "_test.go") {
				t.Errorf("%s imports %s, which is for tests", path, to)
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

// TestRoomsAreNamed checks that the contributors' guide names every package.
func TestRoomsAreNamed(t *testing.T) {
	guide, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, tree, _ := strings.Cut(string(guide), "```\npkg/unit")
	tree, _, found := strings.Cut("pkg/unit"+tree, "```")
	if !found {
		t.Fatal("DEVELOPERS.md has no tree of packages")
	}
	named := map[string]bool{}
	for _, line := range strings.Split(tree, "\n") {
		names, _, _ := strings.Cut(line, "   ") // what the package is follows
		parent := ""
		for i, name := range strings.Fields(names) {
			if i == 0 {
				name = strings.TrimPrefix(name, "pkg/")
				if dir := path.Dir(name); dir != "." {
					parent = dir + "/"
				}
			} else {
				name = parent + name
			}
			named[name] = true
		}
	}
	for name := range level {
		if !named[name] {
			t.Errorf("DEVELOPERS.md does not name %s", name)
		}
	}
}
