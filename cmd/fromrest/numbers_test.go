package main

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// pinned are the numbers of a revision of the model: seconds and half-widths of the
// demonstration and of the fixtures, and the verdicts.
type pinned struct {
	Model    int                   `json:"model"`
	Numbers  map[string][2]float64 `json:"numbers"` // s
	Verdicts map[string]string     `json:"verdicts"`
}

const pins = "../../fixtures/model.json"

// steadiness is by how much in s a number may differ between machines.
const steadiness = 2e-6

// TestPrintedNumbersStay fails where a change moves numbers under the revision of the
// model that they are pinned for.
func TestPrintedNumbersStay(t *testing.T) {
	now := pinNumbers(t)
	if *update {
		b, err := json.MarshalIndent(now, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(pins, append(b, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	var then pinned
	if err := json.Unmarshal([]byte(mustReadFile(t, pins)), &then); err != nil {
		t.Fatal(err)
	}
	var moved []string
	for _, name := range slices.Sorted(maps.Keys(now.Numbers)) {
		a, ok := then.Numbers[name]
		b := now.Numbers[name]
		if !ok || !(math.Abs(a[0]-b[0]) <= steadiness) || !(math.Abs(a[1]-b[1]) <= steadiness) {
			moved = append(moved, fmt.Sprintf("%s: %v, was %v", name, b, a))
		}
	}
	for name, v := range now.Verdicts {
		if then.Verdicts[name] != v {
			moved = append(moved, fmt.Sprintf("%s: %s, was %s", name, v, then.Verdicts[name]))
		}
	}
	if len(moved) > 0 || len(then.Numbers) != len(now.Numbers) || then.Model != now.Model {
		t.Errorf("%d numbers of model %d are not those pinned for model %d. Raise session.ModelRevision unless the last edition had a lower one, say in docs/changes.md what moved, and run go test ./cmd/fromrest -run PrintedNumbers -update\n%s",
			len(moved), now.Model, then.Model, strings.Join(moved[:min(len(moved), 8)], "\n"))
	}
}

func pinNumbers(t *testing.T) pinned {
	t.Helper()
	out := pinned{Model: session.ModelRevision, Numbers: map[string][2]float64{}, Verdicts: map[string]string{}}
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	sh, err := sheet.Load(filepath.Join(dir, folderSheet))
	if err != nil {
		t.Fatal(err)
	}
	for name, in := range map[string]struct {
		pattern string
		sheet   *sheet.Sheet
	}{"demo": {dir + "/*-?.*", sh}, "fixtures": {"../../fixtures/session-*hz*", nil}} {
		paths, err := filepath.Glob(in.pattern)
		if err != nil {
			t.Fatal(err)
		}
		var inputs []session.Input
		for _, p := range paths {
			inputs = append(inputs, session.Input{Path: p})
		}
		res, err := session.Run(context.Background(), inputs, session.Options{Sheet: in.sheet})
		if err != nil || res.SheetError != nil || len(res.Failed) > 0 || len(res.Runs) < 4 {
			t.Fatal(name, err, res.SheetError, res.Failed, len(res.Runs))
		}
		out.add(name, res)
	}
	return out
}

func (p *pinned) add(name string, res *session.Result) {
	for _, r := range res.Runs {
		for _, tm := range r.Times {
			p.Numbers[fmt.Sprintf("%s %s %s %s", name, r.ID, tm.Name, tm.From)] = [2]float64{micro(tm.Seconds), micro(tm.U95)}
		}
	}
	for _, target := range res.Settings.Targets {
		for _, o := range []string{"rest", "rollout"} {
			q := quantity{"", target, o}
			for _, g := range res.Groups() {
				q.modes = g.Name
				if x, half, ok := truth(res, q); ok {
					p.Numbers[fmt.Sprintf("%s mean %s %s %s", name, g.Name, target, o)] = [2]float64{micro(x), micro(half)}
				}
			}
			if t := res.At(target, timing.Origin(o)); t != nil {
				for _, pair := range t.Pairs {
					p.Verdicts[fmt.Sprintf("%s %s - %s %s %s", name, pair.A, pair.B, target, o)] = string(pair.Verdict)
				}
			}
		}
	}
}

func micro(x float64) float64 { return math.Round(x*1e6) / 1e6 }

var revisionIs = regexp.MustCompile(`(?m)^## Model (\d+)`)

// TestChangesTellOfEveryRevision reads the headings of the document: one for each
// revision, the last one first.
func TestChangesTellOfEveryRevision(t *testing.T) {
	found := revisionIs.FindAllStringSubmatch(mustReadFile(t, "../../docs/changes.md"), -1)
	if len(found) != session.ModelRevision {
		t.Fatalf("%d revisions told of, want %d", len(found), session.ModelRevision)
	}
	for i, m := range found {
		if want := fmt.Sprint(session.ModelRevision - i); m[1] != want {
			t.Errorf("heading %d is of model %s, want %s", i+1, m[1], want)
		}
	}
}
