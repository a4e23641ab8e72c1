package sheet

import (
	"strings"
	"testing"
	"time"
)

// call is two logs whose second is also called so in another folder.
func call() ([]Log, []Run) {
	logs := []Log{
		{Name: "eco", Path: "may/eco.nmea", SHA256: sumOf("ecoeco"), Bytes: 6, Prefix: func(n int64) (string, error) { return sumOf("ecoeco"[:n]), nil }},
		{Name: "may/log", Path: "may/log.nmea", SHA256: sumOf("log"), Bytes: 3},
		{Name: "june/log", Path: "june/log.nmea", SHA256: sumOf("other"), Bytes: 5},
	}
	at := time.Date(2026, 6, 14, 10, 0, 0, 0, time.UTC)
	runs := []Run{{"eco#1", 0, at}, {"eco#2", 0, at.Add(time.Minute)}, {"may/log#1", 1, at.Add(time.Hour)}, {"june/log#1", 2, at.Add(2 * time.Hour)}}
	return logs, runs
}

// resolved is the exclusions of a sheet's text by run, or the mistake.
func resolved(t *testing.T, text string, change func([]Log, []Run) ([]Log, []Run)) (map[string]string, string) {
	t.Helper()
	logs, runs := call()
	if change != nil {
		logs, runs = change(logs, runs)
	}
	r, err := mustParse(t, text).Resolve(logs, runs)
	says, wrong := r.Assign([]int{1, 2, 3, 4}[:len(runs)], nil)
	out := map[string]string{}
	for i, a := range says {
		if a.Excluded != "" {
			out[runs[i].ID] = a.Excluded
		}
	}
	mistakes := ""
	for _, e := range []error{err, wrong} {
		if e != nil {
			mistakes += e.Error()
		}
	}
	return out, mistakes
}

func TestWhatASheetMeans(t *testing.T) {
	const gust = "exclude = \"gust\"\n"
	launched := func(at string) string {
		return "[[run]]\nid = \"eco#1\"\nlaunch = 2026-06-14T" + at + "Z\n" + gust
	}
	ecoLog := "[[log]]\nname = \"eco\"\nsha256 = \"" + sumOf("ecoeco") + "\"\nbytes = 6\n"
	moved := func(by time.Duration) func([]Log, []Run) ([]Log, []Run) {
		return func(l []Log, r []Run) ([]Log, []Run) {
			for i := range r {
				r[i].Launch = r[i].Launch.Add(by)
			}
			return l, r
		}
	}
	for name, c := range map[string]struct {
		text    string
		change  func([]Log, []Run) ([]Log, []Run)
		run     string // that is excluded, "" for none
		mistake string
	}{
		"a name that fits one log":   {"[[run]]\nid = \"eco#2\"\n" + gust, nil, "eco#2", ""},
		"a path that fits one log":   {"[[exclude]]\nrun = \"june/log.nmea#1\"\nreason = \"r\"\n", nil, "june/log#1", ""},
		"a name that fits two":       {"title = \"\"\n[[run]]\nid = \"log#1\"\n" + gust, nil, "", `session.toml: line 2: run "log#1": "log" may be may/log.nmea or june/log.nmea`},
		"a launch":                   {launched("10:00:00"), nil, "eco#1", ""},
		"a launch 3 s off":           {launched("10:00:03"), nil, "eco#1", ""},
		"runs 3 s earlier":           {launched("10:00:00"), moved(-3 * time.Second), "eco#1", ""},
		"a launch of another number": {launched("10:01:00"), nil, "eco#2", ""},
		"a launch 6 s off":           {launched("10:00:06"), nil, "", `session.toml: line 3: run "eco#1": no run of may/eco.nmea was launched within 5 s of 2026-06-14T10:00:06.000Z`},
		"two launches as near": {launched("10:00:02"), func(l []Log, r []Run) ([]Log, []Run) {
			r[1].Launch = r[0].Launch.Add(4 * time.Second)
			return l, r
		}, "", "eco#1 at 2026-06-14T10:00:00.000Z and eco#2 at 2026-06-14T10:00:04.000Z were both launched within 5 s"},
		"the bytes under another name": {ecoLog + "[[run]]\nid = \"eco#1\"\n" + gust, func(l []Log, r []Run) ([]Log, []Run) {
			l[0].Name, l[0].Path, r[0].ID, r[1].ID = "x", "x.nmea", "x#1", "x#2"
			return l, r
		}, "x#1", ""},
		"a log that grew": {strings.NewReplacer(sumOf("ecoeco"), sumOf("eco"), "bytes = 6", "bytes = 3").Replace(ecoLog) + "[[run]]\nid = \"eco#1\"\n" + gust, nil, "eco#1", ""},
		"the name and other bytes": {strings.Replace(ecoLog, sumOf("ecoeco"), sumOf("before"), 1) + "[[run]]\nid = \"eco#1\"\n" + gust, nil, "",
			`session.toml: line 1: log "eco" matches may/eco.nmea by name and not by its bytes`},
		"a log that is not there": {"[[log]]\nname = \"gone\"\nsha256 = \"" + sumOf("gone") + "\"\nbytes = 4\n[[run]]\nid = \"gone#1\"\n" + gust, nil, "", ""},
		"a run that is not there": {"[[run]]\nid = \"eco#3\"\n" + gust, nil, "", `run "eco#3" does not exist`},
	} {
		got, mistake := resolved(t, c.text, c.change)
		if c.mistake == "" && mistake != "" || !strings.Contains(mistake, c.mistake) {
			t.Errorf("%s: %q, want %q", name, mistake, c.mistake)
		}
		if want := b2i(c.run != ""); len(got) != want || want == 1 && got[c.run] == "" {
			t.Errorf("%s: excluded %v, want %q", name, got, c.run)
		}
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// What a sheet says of second recordings reaches the logs that it means.
func TestWitnessesAndSeparateLogs(t *testing.T) {
	logs, runs := call()
	s := mustParse(t, "[[log]]\nname = \"eco\"\n[[log]]\nname = \"may/log\"\nwitness_of = \"eco\"\n[[log]]\nname = \"june/log\"\nseparate = true\n")
	r, err := s.Resolve(logs, runs)
	if err != nil || r.Witness[1] != 0 || r.Witness[0] != -1 || !r.Separate[2] || r.Separate[0] {
		t.Errorf("%v: witnesses %v, separate %v", err, r.Witness, r.Separate)
	}
	for text, want := range map[string]string{
		"[[log]]\nname = \"a\"\nwitness_of = \"a\"\n":                                         `line 3: log "a" is named as the witness of itself`,
		"[[log]]\nname = \"a\"\nwitness_of = \"b\"\n":                                         `line 3: witness_of = "b": no [[log]] has this name`,
		"[[log]]\nname = \"b\"\n[[log]]\nname = \"a\"\nseparate = true\nwitness_of = \"b\"\n": `line 6: log "a" cannot be separate and a witness of "b"`,
	} {
		if _, err := Parse(text, "s.toml"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}
