package web

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/synth"
)

// A log that paused was taken as it was; its longer self stands for it, by a watched
// folder and dropped on the page alike: no run stands twice.
func TestLongerLogStandsForItsBeginning(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	whole := filepath.Join(dir, "calm-1.nmea")
	text, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	cut := len(text) * 3 / 4
	begun := text[:cut+bytes.IndexByte(text[cut:], '\n')+1]
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	alone := begin(t, sv.url)
	putLog(t, sv, alone, whole, "calm")
	want := waitRead(t, sv, alone, 1).Runs

	card := filepath.Join(dir, "card")
	if err := os.Mkdir(card, 0o755); err != nil {
		t.Fatal(err)
	}
	growing := filepath.Join(card, "calm-1.nmea")
	write := func(b []byte) {
		t.Helper()
		if err := os.WriteFile(growing, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	files := map[string]*seen{}
	for name, take := range map[string]func(id string){
		"watched": func(id string) {
			for range quietLooks + 2 {
				sv.look(context.Background(), id, card, files)
			}
		},
		"dropped": func(id string) { putLog(t, sv, id, growing, "calm") },
	} {
		id := begin(t, sv.url)
		write(begun)
		take(id)
		if v := waitRead(t, sv, id, 1); len(v.Runs) == 0 || len(v.Runs) > len(want) {
			t.Fatalf("%s: %d runs of the beginning, %d of the whole", name, len(v.Runs), len(want))
		}
		write(text)
		take(id)
		v := waitRead(t, sv, id, 2)
		if len(v.Runs) != len(want) {
			t.Errorf("%s: %d runs, alone %d", name, len(v.Runs), len(want))
		}
		told := 0
		for _, l := range v.Logs {
			if strings.Contains(l.Text, "beginning") {
				told++
			}
		}
		if told != 1 {
			t.Errorf("%s: %d logs are said to be a beginning: %+v", name, told, v.Logs)
		}
	}
}
