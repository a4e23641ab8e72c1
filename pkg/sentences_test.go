package pkg_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// sentencesFile is where every sentence that the program can print stands, for an editor.
const sentencesFile = "../docs/sentences.txt"

const sentencesHead = `Every text of three words or more that the program can print, by the file that holds it, for an
editor to read; "…" stands for what is put in. Written by: go test ./pkg -run Sentences -update
`

// TestSentencesAreListed holds the list of what the program says to what stands in it.
func TestSentencesAreListed(t *testing.T) {
	var b strings.Builder
	b.WriteString(sentencesHead)
	n := 0
	for _, root := range []string{".", "../cmd"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() && (d.Name() == "testdata" || d.Name() == "vendor") {
				if err == nil {
					err = filepath.SkipDir
				}
				return err
			}
			all, err := saidIn(path)
			if err != nil || len(all) == 0 {
				return err
			}
			b.WriteString("\n" + strings.TrimPrefix(filepath.ToSlash(filepath.Join("pkg", path)), "pkg/../") + "\n")
			for _, s := range all {
				b.WriteString("  " + s + "\n")
				n++
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if n < 500 {
		t.Fatalf("%d sentences were found: the search is broken", n)
	}
	if *update {
		if err := os.WriteFile(sentencesFile, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile(sentencesFile)
	if err != nil || string(have) != b.String() {
		t.Errorf("%s is not what the program says; -update writes it anew (%v)", sentencesFile, err)
	}
}

// saidIn are the texts in a source file that somebody reads, each once, in order.
func saidIn(path string) ([]string, error) {
	var out []string
	keep := func(s string) {
		if s = strings.Join(strings.Fields(s), " "); isSaid(s) && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	switch {
	case strings.HasSuffix(path, "_test.go"), inTests(path):
	case strings.HasSuffix(path, ".go"):
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return nil, err
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.Field: // a tag is not said
				return n.Tag == nil
			case *ast.BinaryExpr, *ast.BasicLit:
				keep(written(n.(ast.Expr)))
				_, one := n.(*ast.BasicLit)
				return !one && written(n.(ast.Expr)) == ""
			}
			return true
		})
	case strings.HasSuffix(path, ".js"):
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		for _, m := range inScript.FindAllString(string(text), -1) {
			keep(regexp.MustCompile(`\$\{[^{}]*\}`).ReplaceAllString(m[1:len(m)-1], "…"))
		}
	}
	return out, nil
}

var inScript = regexp.MustCompile("\"(?:[^\"\\\\\n]|\\\\.)*\"|`[^`]*`")

// inTests reports whether a package is for tests and documents alone.
func inTests(path string) bool {
	dir := filepath.ToSlash(filepath.Dir(path))
	return slices.Contains([]string{"testlog", "testschema", "worlds", "bench"}, dir)
}

// written is a text that is put together of parts, "" where no part is a literal.
func written(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind != token.STRING {
			return ""
		}
		s, err := strconv.Unquote(e.Value)
		if err != nil {
			return ""
		}
		return strings.ReplaceAll(placed.ReplaceAllString(s, "…"), "%%", "%")
	case *ast.BinaryExpr:
		if e.Op != token.ADD {
			return ""
		}
		a, b := written(e.X), written(e.Y)
		switch {
		case a == "" && b == "":
			return ""
		case a == "":
			a = "…"
		case b == "":
			b = "…"
		}
		return a + b
	}
	return ""
}

// placed is what fmt puts a value in the place of.
var placed = regexp.MustCompile(`%[-+#0-9.]*[a-zA-Z]`)

// Words, and what is written for machines.
var (
	word       = regexp.MustCompile(`\b[A-Za-z][a-z’'-]*\b`)
	forMachine = regexp.MustCompile(`^\s*(?:SELECT|INSERT|UPDATE|DELETE|CREATE|PRAGMA|ALTER|DROP|WITH|FROM|WHERE)\b|[{}\\]|</?[a-z]+[ >]|^\(\?|[a-z]+="|^M[0-9 ]`)
)

// isSaid reports whether a text is meant for a reader.
func isSaid(s string) bool {
	return strings.Count(s, " ") > 1 && len(word.FindAllString(s, 3)) == 3 && !forMachine.MatchString(s)
}
