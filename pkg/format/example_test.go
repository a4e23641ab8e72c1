package format_test

import (
	"context"
	"fmt"
	"log"

	"fromrest/pkg/format"
)

// A log of any format is opened by its content.
func ExampleOpen() {
	for _, name := range []string{"session-10hz.nmea", "session-10hz-accel.fit", "session-5hz-hold.gpx"} {
		l, err := format.Open(context.Background(), "../../fixtures/"+name, format.Options{})
		if err != nil {
			log.Fatal(err)
		}
		rec := l.Recording
		t := rec.Primary()
		fmt.Printf("%s: %d fixes of %s, %d samples, %s\n", rec.Format, t.Len(), t.Name, rec.Accel.Len(), l.SHA256[:8])
	}
	// Output:
	// nmea: 2301 fixes of RMC+VTG+GGA, 0 samples, 454028d1
	// fit: 2301 fixes of gps_metadata, 23002 samples, b2813502
	// gpx: 1151 fixes of trkpt, 0 samples, f77cff63
}
