package synth

// Vehicle is what pushes and what resists. The zero value of a limit means no
// such limit; a Vehicle needs Mass and at least one of Force and Power, and
// without Force its thrust is limited to Grip or, failing that, to 1.2 g.
type Vehicle struct {
	Name string

	Mass     float64 // kg
	Inertia  float64 // effective mass over mass, for rotating parts; 1 if 0
	DragArea float64 // m², drag coefficient times frontal area
	Rolling  float64 // rolling resistance coefficient
	Loss     float64 // share of thrust lost in the driveline, 0..1

	Force float64 // N at the wheels before loss: torque limit in the lowest gear
	Power float64 // W at the wheels before loss
	Grip  float64 // N, the most thrust the tyres pass

	// Converter is the extra share of Force at zero speed, fading to nothing at
	// ConverterSpeed, as a torque converter gives.
	Converter      float64
	ConverterSpeed float64 // m/s

	Gears []Gear  // upshifts in order, none for a single-speed driveline
	Sag   float64 // share of power missing right after an upshift

	FadeSpeed float64 // m/s above which power falls in proportion to 1/v, 0 for never

	// Spin is the relative amplitude by which thrust fluctuates (2-7 Hz) while
	// the wheels spin, up to SpinSpeed.
	Spin      float64
	SpinSpeed float64 // m/s

	// BuildMin and BuildMax bound the time thrust takes to build up; each run
	// draws its own. Both 0 means thrust is there at once.
	BuildMin, BuildMax float64 // s
}

// Gear is an upshift.
type Gear struct {
	UpSpeed            float64 // m/s at which it begins
	ShiftMin, ShiftMax float64 // s, its duration; each run draws its own
	Depth              float64 // share of thrust missing in its middle; above 1 the engine drags
	Ratio              float64 // of the gear shifted into, over the lowest; 0 for no torque limit in it
}

// Road is the ground and the air of one run, in the direction of that run.
type Road struct {
	Grade      float64 // rise over run, +0.01 climbs 1 %
	HeadWind   float64 // m/s against the vehicle
	AirDensity float64 // kg/m³, 1.225 if 0
}
