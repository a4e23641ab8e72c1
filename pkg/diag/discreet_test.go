package diag

import "testing"

func TestDiscreet(t *testing.T) {
	for in, want := range map[string]string{
		`"47.1000123x" is no value for column "lat"`:           `"…x" is no value for column "lat"`,
		`column "lat" holds 4706.01234, which is no angle`:     `column "lat" holds …, which is no angle`,
		`"47,1000123" is no value`:                             `"…" is no value`,
		`latitude "-19.800004" is no position and is left out`: `latitude "…" is no position and is left out`,
		`47°06'00.5"N 19°48'01.2"W`:                            `… …`,
		`47° 06.012' N`:                                        `…`,
		`SN 12345-AB`:                                          `SN …`,
		`serial number: X20-77123; ROM CORE 3.01 (107888)`:     `serial number: …; ROM CORE 3.01 (107888)`,
		`UNIQUEID=0x00A1B2C3D4E5`:                              `UNIQUEID=…`,
		`unique id 1F22`:                                       `unique id …`,
		// What a reader needs stays.
		`no time can be read in "09:21:30.123456"`:              `no time can be read in "09:21:30.123456"`,
		`"fast" is no value for column "speed (km/h)"`:          `"fast" is no value for column "speed (km/h)"`,
		`the log gives 0.125 m/s at 10 Hz`:                      `the log gives 0.125 m/s at 10 Hz`,
		`a gap of 2.300 s before 2026-06-14 09:58:43.123`:       `a gap of 2.300 s before 2026-06-14 09:58:43.123`,
		`checksum mismatch in a NAV-PVT solution`:               `checksum mismatch in a NAV-PVT solution`,
		`the signal SNR is left out, its unit cannot be told 5`: `the signal SNR is left out, its unit cannot be told 5`,
		`a temperature of 11 °C`:                                `a temperature of 11 °C`,
	} {
		if got := Discreet(in); got != want {
			t.Errorf("%s\n got %s\nwant %s", in, got, want)
		}
	}
	var l List
	l.Add(Problem{Kind: "value", Effect: Dropped, Text: `"47.1000123x" is no value`})
	if got := l.Groups()[0].First().Text; got != `"…x" is no value` {
		t.Error(got)
	}
}
