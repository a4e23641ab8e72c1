package gpx_test

import (
	"context"
	"fmt"
	"strings"

	"fromrest/pkg/format/gpx"
	"fromrest/pkg/recording"
)

// What cannot be read is told with its line, and the rest is kept.
func ExampleRead() {
	const text = `<gpx version="1.1"><trk><trkseg>
<trkpt lat="52.0" lon="-1.0"><time>2026-06-14T09:00:00Z</time><extensions><speed>1.5</speed></extensions></trkpt>
<trkpt lat="52.0" lon="-1.0"><time>2026-06-14T09:00:00Z</time></trkpt>
<trkpt lat="52.0" lon="-1.0"><time>2026-06-14T09:00:01Z</time><extensions><speed>fast</speed></extensions></trkpt>
</trkseg></trk></gpx>
`
	rec, err := gpx.Read(context.Background(), strings.NewReader(text), "morning.gpx", gpx.Options{})
	fmt.Println(rec.Primary().Len(), "fixes, the first at", rec.Primary().Value(recording.Speed, 0), "m/s, error", err)
	for _, g := range rec.Problems.Groups() {
		if p := g.First(); p.Line > 0 {
			fmt.Printf("%s, %s: %s\n", p.Place(), p.Effect, p.Text)
		}
	}
	// Output:
	// 2 fixes, the first at 1.5 m/s, error <nil>
	// line 3, dropped: the time 2026-06-14T09:00:00Z is repeated
	// line 4, suspect: speed "fast" is no speed and is left out
}
