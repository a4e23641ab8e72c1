package outside

// What a beam sees. A car's front tyre has a radius of about 0.33 m: at 5 to 8 cm above the
// ground it is 0.33 to 0.43 m long, at the height of the axle 0.66 m.
const (
	tyreStart   = 0.29 // m; way until the front tyre has left a low beam. Origin: common practice, 11.5 inches of the tyre's 13 are left when it stands as the beam asks
	tyreStartU  = 0.06 // m; standard uncertainty of it. Origin: assumed, standing deep or shallow and the beam's height
	axleStart   = 0.58 // m; way until the tyre has left a beam at the height of the axle. Origin: assumed, the tyre's diameter less what it stands in the beam
	axleStartU  = 0.06 // m; standard uncertainty of it. Origin: assumed
	bumperStart = 0.3  // m; way from the line to a beam that the bumper cuts. Origin: assumed, where nothing was measured
	bumperU     = 0.2  // m; standard uncertainty of it. Origin: assumed
	tapeU       = 0.01 // m; standard uncertainty of a way that was measured. Origin: common practice, a tape and the height at which a body cuts the beam
	noseShort   = 0.6  // m; by which the way between beams is shorter for what starts by the tyre and ends by the nose. Origin: assumed, from a low tyre's front edge to the bumper's
	noseShortU  = 0.3  // m; standard uncertainty of it. Origin: assumed
)

// How the way before an outside clock started is told.
const (
	longest    = 1.5   // m; tried. Origin: assumed, the longest way from a line to a first beam
	step       = 0.005 // m; between those tried. Origin: half a centimetre is 3 ms at the rollout point
	clearly    = 20.0  // 1; by which an origin must be likelier than the one stated. Origin: convention
	nearly     = 10.0  // 1; within which other origins are named with the likeliest. Origin: assumed
	fits       = 0.001 // 1; probability of times as odd as these under an origin, below which it does not fit. Origin: convention
	traceLeast = 0.02  // relative; standard uncertainty of the time of a short way near the line. Origin: assumed
)
