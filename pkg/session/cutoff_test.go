package session_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"testing"

	"fromrest/pkg/session"
)

// What a cut-off compressed log still holds is timed, with a warning.
func TestCutOffLogIsTimedWithAWarning(t *testing.T) {
	text, err := os.ReadFile("../../fixtures/session-10hz.nmea")
	if err != nil {
		t.Fatal(err)
	}
	var z bytes.Buffer
	w := gzip.NewWriter(&z)
	if _, err := w.Write(text); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	b := z.Bytes()[:z.Len()*3/4]
	in := session.Input{Path: "a.nmea.gz", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }}
	res, err := session.Run(t.Context(), []session.Input{in}, session.Options{})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	if n := len(res.StandingStarts()); n != 3 {
		t.Errorf("%d standing starts, want 3 of 4", n)
	}
	want := res.Logs[0].Name + " is a compressed log that is cut off: what came after is lost."
	if len(res.Warnings) != 1 || res.Warnings[0] != want {
		t.Errorf("warnings %q, want %q", res.Warnings, want)
	}
}
