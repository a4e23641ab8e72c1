package fit_test

import (
	"context"
	"fmt"
	"log"
	"os"

	"fromrest/pkg/format/fit"
	"fromrest/pkg/recording"
)

// A FIT file gives a track for each source of speed, the best first, and the
// accelerometer's samples on the same clock.
func ExampleRead() {
	f, err := os.Open("../../../fixtures/session-10hz-accel.fit")
	if err != nil {
		log.Fatal(err)
	}
	defer func() { _ = f.Close() }() // only read
	rec, err := fit.Read(context.Background(), f, "session.fit", fit.Options{})
	if err != nil {
		log.Fatal(err)
	}
	for _, t := range rec.Tracks {
		fmt.Printf("%s by %s: %d fixes, the first at %.3f m/s\n", t.Name, t.Source, t.Len(), t.Value(recording.Speed, 0))
	}
	fmt.Printf("%d samples\n", rec.Accel.Len())
	// Output:
	// gps_metadata by gnss: 2301 fixes, the first at 0.072 m/s
	// record by gnss: 231 fixes, the first at 0.072 m/s
	// 23002 samples
}
