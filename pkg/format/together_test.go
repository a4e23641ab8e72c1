package format_test

import (
	"context"
	"sync"
	"testing"

	"fromrest/pkg/format"
	"fromrest/pkg/testlog"
)

// Readers share nothing: one log of each format is read by several at once, which
// the race detector watches, and gives what it gives alone.
func TestFormatsAreReadTogether(t *testing.T) {
	read := func(name string) string {
		log, err := format.Open(context.Background(), "../../fixtures/"+name, format.Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return ""
		}
		return testlog.Dump(log.Recording, nil)
	}
	var all sync.WaitGroup
	for _, name := range []string{"session-10hz.nmea", "session-10hz.csv", "session-10hz-accel.fit", "session-5hz-hold.gpx"} {
		alone := read(name)
		for range 3 {
			all.Go(func() {
				if read(name) != alone {
					t.Errorf("%s is read otherwise beside others", name)
				}
			})
		}
	}
	all.Wait()
}
