package survey

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// Lines of receivers of three makers, with their checksums, as public repositories quote
// them: two of documentation of parsers, two of their tests.
var published = []string{
	"#BESTVELA,COM1,0,57.0,COARSESTEERING,2357,92938.000,02000000,10a2,17136;SOL_COMPUTED,DOPPLER_VELOCITY,0.000,0.000,15.9625,2.988786,0.0026,0*bf513cf7",
	"#BESTVELA,COM1,0,60.0,FINESTEERING,2437,558924.650,00000000,0000,1114;SOL_COMPUTED,DOPPLER_VELOCITY,0.000,0.000,0.0019,289.119359,0.0016,0.0*896c6970",
	"#BESTVELA,COM2,0,82.5,FINESTEERING,1836,317693.000,00000000,827b,6588;SOL_COMPUTED,DOPPLER_VELOCITY,0.150,0.000,0.1395,183.354399,-0.0699,0.0*9e374c71",
	"#BESTVELA,USB1,0,57.5,FINESTEERING,2209,502223.000,02000020,10a2,16809;SOL_COMPUTED,PPP,0.250,13.000,0.0025,28.358727,0.0021,0*e9418656",
}

func TestPublishedLogsOfSurveyReceivers(t *testing.T) {
	for i, line := range published {
		l, ok, err := parseSurvey([]byte(line + "\r\n"))
		if !ok || err != nil {
			t.Errorf("line %d: %v, %v", i, ok, err)
			continue
		}
		log, err := Read(t.Context(), strings.NewReader(line+"\r\n"), "x")
		if err != nil {
			t.Errorf("line %d: %v", i, err)
			continue
		}
		f := log.Primary().At(0)
		want, _ := l.numbers(4, 5, 6)
		if f.Q[recording.Speed] != want[0] || f.Q[recording.Course] != want[1] || f.Q[recording.VelUp] != want[2] {
			t.Errorf("line %d: %v", i, f.Q)
		}
		if damaged := strings.Replace(line, "SOL_", "SOM_", 1); damaged != line {
			if _, ok, err := parseSurvey([]byte(damaged)); !ok || err == nil {
				t.Errorf("line %d: damage is not told", i)
			}
		}
	}
	// Week 2209, 502,223 s is a Friday: 2022-05-13 19:30:23 GPS time, less 18 s and the latency of 0.25 s.
	log, err := Read(t.Context(), strings.NewReader(published[3]+"\n"), "x")
	if err != nil || log.Primary().TimeAt(0).Format("2006-01-02T15:04:05.000") != "2022-05-13T19:30:04.750" {
		t.Errorf("%v, %v", log.Primary().TimeAt(0), err)
	}
}

// withCRC closes a line with its checksum.
func withCRC(body string) string { return fmt.Sprintf("#%s*%08x\r\n", body, Sum([]byte(body))) }

func TestLogsOfSurveyReceivers(t *testing.T) {
	var b strings.Builder
	for i := range 100 {
		head := func(name string) string {
			return fmt.Sprintf("%s,COM1,0,60.0,FINESTEERING,2423,%.3f,00000000,0000,1114;", name, 36000+float64(i)/20)
		}
		status := "SOL_COMPUTED"
		if i == 7 {
			status = "INSUFFICIENT_OBS"
		}
		b.WriteString(withCRC(head("BESTPOSA") + fmt.Sprintf("SOL_COMPUTED,SINGLE,52.%08d,1.0,30.0,45.0,WGS84,0.3,0.4,0.9,\"\",0.000,0.000,35,30,30,30,0,06,0,33", i)))
		line := withCRC(head("BESTVELA") + fmt.Sprintf("%s,DOPPLER_VELOCITY,0.000,0.000,%.4f,90.0,0.0,0.0", status, float64(i)/10))
		if i == 9 {
			line = strings.Replace(line, "0.9000", "9.9000", 1)
		}
		b.WriteString(line)
	}
	log, err := Read(t.Context(), strings.NewReader(b.String()), "x")
	if err != nil {
		t.Fatal(err)
	}
	rec := log
	tr := rec.Primary()
	if f := tr.At(18); tr.Len() != 98 || f.Q[recording.Speed] != 2 || f.Q[recording.LatDeg] != 52.0000002 || f.Q[recording.PosSD] != 0.5 ||
		f.Time.Format("2006-01-02T15:04:05.000") != "2026-06-14T09:59:43.000" {
		t.Errorf("%d fixes, %+v", tr.Len(), f)
	}
	got := map[string]int{}
	for _, g := range rec.Problems.Groups() {
		got[g.Kind] = g.Count
	}
	if got["checksum"] != 1 || got["no-fix"] != 1 {
		t.Errorf("problems %v", got)
	}
}

// Whatever comes, what is kept has the promises of a recording.
func FuzzRead(f *testing.F) {
	for _, line := range published {
		f.Add([]byte(line + "\r\n"))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, _ := Read(t.Context(), bytes.NewReader(b), "x")
		if s := Sniff(b); s < 0 || s > 100 {
			t.Fatal(s)
		}
		testlog.Sound(t, rec)
	})
}
