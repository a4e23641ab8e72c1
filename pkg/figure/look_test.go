package figure

import (
	"os"
	"path/filepath"
	"testing"
)

func TestLook(t *testing.T) {
	dir := os.Getenv("FIGURES")
	if dir == "" {
		t.Skip("FIGURES names no folder to draw into")
	}
	runs := sampleRuns(3)
	figs := map[string]func(Options) (*Figure, error){
		"speed":    func(o Options) (*Figure, error) { return SpeedTime(runs[0], o) },
		"accel":    func(o Options) (*Figure, error) { return AccelSpeed(runs[0], o) },
		"over":     func(o Options) (*Figure, error) { return Overlay(runs, OfSpeed, ByTime, o) },
		"dist":     func(o Options) (*Figure, error) { return Overlay(runs[:7], OfSpeed, ByDistance, o) },
		"receiver": func(o Options) (*Figure, error) { return Receiver(closeUp(), o), nil },
		"eight":    func(o Options) (*Figure, error) { return Overlay(sampleRuns(8)[:8], OfSpeed, ByTime, o) },
	}
	for name, make := range figs {
		for sn, s := range map[string]Size{"n": Narrow, "w": Wide} {
			f, err := make(Options{Size: s})
			if err != nil {
				t.Fatal(err)
			}
			for tn, th := range map[string]*Theme{"light": Light(), "dark": Dark()} {
				b, err := f.PNG(th, 2)
				if err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(dir, name+"-"+sn+"-"+tn+".png"), b, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if err := os.WriteFile(filepath.Join(dir, name+"-"+sn+".svg"), f.SVG(), 0o644); err != nil {
				t.Fatal(err)
			}
			b, err := f.PDF()
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, name+"-"+sn+".pdf"), b, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
