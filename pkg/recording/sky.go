package recording

// Sky is what a receiver said of the satellites: sampled about once a second
// and summarised over the log. A quantity that it never gave has N 0.
type Sky struct {
	Used    Spread // satellites in the fix
	Tracked Spread // satellites with a signal, in the fix or not

	PDOP, HDOP, VDOP Spread // dilution of precision: of position, horizontal, vertical

	// CN0 is the carrier-to-noise density in dBHz of the median satellite, of which
	// the stronger signal counts where a receiver follows several.
	CN0 Spread
}

// Spread is the median and the range of N samples.
type Spread struct {
	N                 int
	Median, Low, High float64 // in the unit of the quantity
}
