package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A vehicle's two dates: what changed between them is told, with tyres, odometer, receiver and
// revision beside it, and nothing is told of two dates alike.
func TestHistory(t *testing.T) {
	top := t.TempDir()
	var dirs []string
	for i, power := range []string{"full", "full", "calm"} {
		dir := filepath.Join(top, []string{"spring", "summer", "autumn"}[i])
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		begin := time.Date(2026, time.Month(3+3*i), 9, 9, 0, 0, 0, time.UTC)
		writeDrive(t, filepath.Join(dir, "a.nmea"), begin, uint64(31+4*i), power, false, true, false, true, false, true)
		text := "[vehicle]\nname = \"van\"\nodometer_km = 4" + string(rune('0'+i)) + "000\nbrakes_and_tyres = \"set " + string(rune('A'+i)) + "\"\n[[mode]]\nname = \"full\"\nlogs = [\"a\"]\n[receiver]\nname = \"blue\"\nfilter = \"none\"\nrate_hz = 10\n"
		if err := os.WriteFile(filepath.Join(dir, "session.toml"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		dirs = append(dirs, dir)
	}
	same := out(t, append([]string{"history", "--at", "0-60 mph"}, dirs[:2]...)...)
	if !strings.Contains(same, "No step and no drift is told") || !strings.Contains(same, "41000") || !strings.Contains(same, "set B") || !strings.Contains(same, "blue") || !strings.Contains(same, "Cautions") {
		t.Error(same)
	}
	changed := out(t, append([]string{"history", "--at", "0-60 mph", "--vehicle", "van"}, dirs...)...)
	if !strings.Contains(changed, "Step: from 2026-09-09 on") || !strings.Contains(changed, "longer than before") {
		t.Error(changed)
	}
	var j struct {
		Schema string
		Series []struct {
			Days []struct{ Model int }
			Step struct {
				Told   bool
				Before string `json:"before_utc"`
			}
		}
	}
	if err := json.Unmarshal([]byte(out(t, append([]string{"history", "--format", "json", "--at", "0-60 mph"}, dirs...)...)), &j); err != nil {
		t.Fatal(err)
	}
	if len(j.Series) != 1 || len(j.Series[0].Days) != 3 || j.Series[0].Days[2].Model == 0 || !j.Series[0].Step.Told || !strings.HasPrefix(j.Series[0].Step.Before, "2026-09-09") {
		t.Errorf("%+v", j)
	}
	svg := filepath.Join(top, "h.svg")
	out(t, append([]string{"history", "--quiet", "-o", svg}, dirs...)...)
	if b, err := os.ReadFile(svg); err != nil || !strings.Contains(string(b), "days since 2026-03-09") {
		t.Errorf("%v", err)
	}
}
