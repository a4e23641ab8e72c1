package csvlog

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
)

func dump(t *testing.T, name string, b []byte, o Options) {
	rec, err := Read(context.Background(), bytes.NewReader(b), name, o)
	t.Log(name, err, rec.Clock, rec.Marks, Sniff(b[:min(len(b), 65536)]))
	for _, tr := range rec.Tracks {
		a, b := tr.At(0), tr.At(tr.Len()-1)
		t.Log("   ", tr.Source, tr.Name, tr.Len(), tr.SpeedUnit, tr.SpeedStep, tr.TimeStep, a.Time, b.Time, a.Q)
	}
	if a := rec.Accel; a != nil {
		t.Log("    accel", a.Len(), a.Unit, a.X[0], a.Z != nil)
	}
	for _, g := range rec.Problems.Groups() {
		t.Log("    ", g.Kind, g.Effect, g.Count, g.First().Line, g.First().Text)
	}
}

func TestDump(t *testing.T) {
	files, _ := filepath.Glob("../../../shared/data/csv/*.csv")
	more, _ := filepath.Glob("../../../shared/data/csv/*/*.csv")
	for _, path := range append(files, more...) {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		dump(t, filepath.Base(path), b, Options{})
	}
}
