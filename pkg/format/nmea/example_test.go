package nmea_test

import (
	"context"
	"fmt"
	"strings"

	"fromrest/pkg/format/nmea"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

func ExampleRead() {
	log := strings.Join([]string{
		"$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B",
		"$GNGSA,A,3,80,71,73,79,69,,,,,,,,1.83,1.09,1.47*17",
		"$GNRMC,001032.00,A,4404.1*00", // damaged on its way
		"$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M*47",
	}, "\r\n")
	rec, err := nmea.Read(context.Background(), strings.NewReader(log), "drive.nmea", nmea.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	track := rec.Primary()
	for i := range track.Len() {
		fix := track.At(i)
		fmt.Print(fix.Time.Format("2006-01-02 15:04:05"))
		if fix.Has(recording.Speed) {
			fmt.Printf(", %.3f kn", fix.Q[recording.Speed]/unit.Knot)
		}
		fmt.Printf(", %.6f° north\n", fix.Q[recording.LatDeg])
	}
	fmt.Printf("%g satellites used, HDOP %g\n", rec.Sky.Used.Median, rec.Sky.HDOP.Median)
	for _, g := range rec.Problems.Groups() {
		fmt.Printf("%s, %s: %s\n", g.Effect, g.First().Place(), g.First().Text)
	}
	// Output:
	// 2017-01-10 00:10:31, 0.146 kn, 44.068999° north
	// 2017-01-10 00:10:43, 44.069006° north
	// 5 satellites used, HDOP 1.09
	// dropped, line 3: checksum mismatch in a RMC: it says 00, its characters give 0D
}
