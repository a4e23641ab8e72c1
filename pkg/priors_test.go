package pkg_test

import (
	"bytes"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the table of priors into docs/priors.md")

// clean are the packages whose numbers all have a name, a unit and an origin.
var clean = []string{
	"session",
	"session/explain", "session/outside",
	"motion", "motion/accel", "motion/align", "motion/beside", "motion/estimate", "motion/inertial", "motion/kalman", "motion/segment", "motion/timing",
	"format/csv", "format/csv/clock", "format/csv/header", "session/compare", "vehicle/air", "vehicle/driveline",
}

// exact are the literals that a function of these packages may hold: what
// arithmetic, percentages, degrees, nanoseconds and bits are made of.
var exact = map[string]bool{
	"0": true, "1": true, "2": true, "3": true, "4": true, "6": true, "12": true, "0.0": true, "1.0": true, "2.0": true, "0.5": true,
	"10": true, "100": true, "180": true, "360": true, "1000": true, "1e9": true, "1e6": true, "1_000_000_000": true, "64": true,
}

// exactIn are further literals of exact mathematics, each in one file.
var exactIn = map[string]string{
	"format/csv/build.go 720":             "two turns, beyond which an angle is none",
	"format/csv/clock/clock.go 61":        "seconds of a minute that a leap second is in",
	"format/csv/clock/clock.go 2000":      "century of a year of two digits",
	"format/csv/clock/numbers.go 10000":   "hours in hhmmss",
	"format/csv/clock/numbers.go 240000":  "end of the day in hhmmss",
	"format/csv/clock/numbers.go 23":      "last hour",
	"format/csv/clock/numbers.go 59":      "last minute",
	"format/csv/clock/numbers.go 60":      "seconds in a minute",
	"format/csv/clock/numbers.go 3600":    "seconds in an hour",
	"format/csv/clock/numbers.go 86400e6": "microseconds in a day",
	"format/csv/guess.go 90":              "most of a latitude",
	"format/csv/header/units.go 3600":     "seconds in an hour",
	"format/csv/units.go 90.0":            "most of a latitude",
	"format/csv/units.go 60":              "minutes in a degree",
	"format/csv/units.go 1e-7":            "unit of whole-numbered angles, by format",
	"session/explain/predict.go 60":       "60 mph, to which a prediction is made",
	"motion/estimate/ramp.go 9":           "second integral of a first-order rise",
	"motion/estimate/ramp.go 0.25":        "integral of half a cosine",
	"motion/estimate/window.go 8":         "covariance of distance and speed by white jerk",
	"motion/estimate/window.go 20":        "variance of the distance by white jerk",
	"motion/segment/find.go 540":          "a turn and a half, which keeps a remainder positive",
	"motion/kalman/kalman.go log2Pi":      "logarithm of 2π",
	"vehicle/air/profile.go kmh":          "per cent, beside km/h and mph",
}

// priorForm is a prior's comment: unit, what it is, origin.
var priorForm = regexp.MustCompile(`^([^;]+); (.+?)\.? Origin: (.+?)\.?$`)

// prior is a number that a model was given.
type prior struct{ name, value, unit, what, origin string }

// isPriors reports whether a file holds a package's priors.
func isPriors(path string) bool {
	name := filepath.Base(path)
	return name == "priors.go" || name == "defaults.go"
}

// sources calls fn for every file of the packages under pkg that is not a test.
func sources(t *testing.T, fn func(dir, path string, fset *token.FileSet, f *ast.File)) {
	t.Helper()
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err == nil {
			fn(filepath.ToSlash(filepath.Dir(path)), filepath.ToSlash(path), fset, f)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// priorsOf lists the constants and variables of a file, and what of them has no
// unit or origin.
func priorsOf(fset *token.FileSet, f *ast.File) (ps []prior, bad []string) {
	for _, d := range f.Decls {
		gen, ok := d.(*ast.GenDecl)
		if !ok || gen.Tok != token.CONST && gen.Tok != token.VAR {
			continue
		}
		for _, s := range gen.Specs {
			spec := s.(*ast.ValueSpec)
			text := strings.Join(strings.Fields(firstText(spec.Comment.Text(), spec.Doc.Text(), gen.Doc.Text())), " ")
			m := priorForm.FindStringSubmatch(text)
			if m == nil {
				bad = append(bad, spec.Names[0].Name)
				m = []string{"", "", text, ""}
			}
			for i, n := range spec.Names {
				if i < len(spec.Values) {
					ps = append(ps, prior{n.Name, source(fset, spec.Values[i]), m[1], m[2], m[3]})
				}
			}
		}
	}
	return ps, bad
}

// firstText is the first text that is not empty.
func firstText(texts ...string) string {
	i := slices.IndexFunc(texts, func(s string) bool { return s != "" })
	if i < 0 {
		return ""
	}
	return texts[i]
}

// source is an expression as it is written, on one line.
func source(fset *token.FileSet, e ast.Expr) string {
	var b bytes.Buffer
	if err := printer.Fprint(&b, fset, e); err != nil {
		return err.Error()
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// The table of priors in docs/priors.md is that of the code: every priors.go and
// defaults.go is in it.
func TestPriorsAreDocumented(t *testing.T) {
	var b strings.Builder
	sources(t, func(dir, path string, fset *token.FileSet, f *ast.File) {
		if !isPriors(path) {
			return
		}
		ps, bad := priorsOf(fset, f)
		if slices.Contains(clean, dir) && len(bad) > 0 {
			t.Errorf("%s: no unit or origin, which stand as \"unit; what it is. Origin: source\": %s", path, strings.Join(bad, ", "))
		}
		fmt.Fprintf(&b, "\n### %s\n\n| name | value | unit | what | origin |\n|---|---|---|---|---|\n", dir)
		for _, p := range ps {
			fmt.Fprintf(&b, "| `%s` | `%s` | %s | %s | %s |\n", p.name, p.value, cell(p.unit), cell(p.what), cell(p.origin))
		}
	})
	const doc, begin, end = "../docs/priors.md", "<!-- priors: written by a test of pkg -->\n", "\n<!-- end of priors -->"
	old, err := os.ReadFile(doc)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(old), begin)
	_, tail, closed := strings.Cut(rest, end)
	if !ok || !closed {
		t.Fatalf("%s has no place for the table: %q to %q", doc, begin, end)
	}
	now := head + begin + b.String() + end + tail
	if now == string(old) {
		return
	}
	if !*update {
		t.Fatalf("%s is not that of the code: go test ./pkg -run Priors -update", doc)
	}
	if err := os.WriteFile(doc, []byte(now), 0o644); err != nil {
		t.Fatal(err)
	}
}

// cell is a text in a table.
func cell(s string) string { return strings.ReplaceAll(s, "|", `\|`) }

// Numbers that tune a model have names: no function of the packages that are
// clean holds a literal beyond exact mathematics, and no constant with a fraction
// stands outside the file of priors.
func TestNumbersHaveNames(t *testing.T) {
	seen := map[string]bool{}
	sources(t, func(dir, path string, fset *token.FileSet, f *ast.File) {
		if !slices.Contains(clean, dir) {
			return
		}
		seen[dir] = true
		if isPriors(path) {
			return
		}
		fail := func(pos token.Pos, what string) {
			if exactIn[path+" "+what] == "" {
				t.Errorf("%s: %s wants a name in the package's priors", fset.Position(pos), what)
			}
		}
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				literals(d, func(lit *ast.BasicLit) {
					if !exact[lit.Value] {
						fail(lit.Pos(), lit.Value)
					}
				})
			case *ast.GenDecl:
				if d.Tok != token.CONST {
					continue
				}
				for _, s := range d.Specs {
					literals(s, func(lit *ast.BasicLit) {
						if lit.Kind == token.FLOAT {
							fail(lit.Pos(), s.(*ast.ValueSpec).Names[0].Name)
						}
					})
				}
			}
		}
	})
	for _, dir := range clean {
		if !seen[dir] {
			t.Errorf("%s holds no code", dir)
		}
	}
}

// literals calls fn for the numbers in a node that are not the length of an array.
func literals(n ast.Node, fn func(*ast.BasicLit)) {
	ast.Inspect(n, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ArrayType:
			literals(n.Elt, fn)
			return false
		case *ast.BasicLit:
			if n.Kind == token.INT || n.Kind == token.FLOAT {
				fn(n)
			}
		}
		return true
	})
}
