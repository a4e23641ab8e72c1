package air

// What is taken of the air where nothing was measured.
const (
	DefaultHumidity = 0.5 // 1; relative, where only temperature and pressure are known. Origin: assumed, the middle of what it may be.
)

// The air that times and powers are corrected to: dry, at 25 °C and 99 kPa.
const (
	ReferenceTemperature = 298.15  // K; temperature of the reference air. Origin: SAE J1349 and ISO 1585.
	ReferencePressure    = 99000.0 // Pa; its pressure. Origin: SAE J1349 and ISO 1585.
)

// Full-throttle power of a naturally aspirated engine (SAE J1349 of 1990, as
// quoted by engine builders; its worked examples are among the tests). The
// standard counts 0 °C as 273 K, so that its factor at 25 °C is exactly 1.
const (
	frictionShare = 0.18  // 1; share of the indicated power lost to friction whatever the air. Origin: SAE J1349.
	roundKelvin   = 0.15  // K; what the standard leaves out. Origin: SAE J1349.
	coldest       = 180.0 // K; colder air is not believed. Origin: assumed.
	hottest       = 350.0 // K; nor is hotter. Origin: assumed.
	thinnest      = 20e3  // Pa; nor is air of less pressure. Origin: assumed.
	densest       = 120e3 // Pa; nor of more. Origin: assumed.
)

// How well densities are known.
const (
	modelU  = 3e-4 // 1; relative standard uncertainty of Density, half of what it is off by from CIPM-2007 at worst. Origin: measured by go test ./pkg/vehicle/air.
	lastBit = 1e-9 // 1; what a value that was converted may be off by, relative. Origin: assumed.
)

// The US Standard Atmosphere 1976 (from memory; the values of its tables are
// reproduced in the tests).
const (
	StandardTemperature = 288.15            // K; at sea level. Origin: US Standard Atmosphere 1976.
	StandardPressure    = 101325.0          // Pa; at sea level. Origin: US Standard Atmosphere 1976.
	gasConstant         = 8314.32 / 28.9644 // J/(kg·K); of dry air. Origin: US Standard Atmosphere 1976.
	earthRadius         = 6356766           // m; for geopotential altitude, not that of WGS 84. Origin: US Standard Atmosphere 1976.
	lapse               = 0.0065            // K/m; how temperature falls up to the tropopause. Origin: US Standard Atmosphere 1976.
	tropopause          = 11000.0           // m; geopotential, from here temperature stays. Origin: US Standard Atmosphere 1976.
	warming             = 20000.0           // m; geopotential, from here temperature rises. Origin: US Standard Atmosphere 1976.
	warmingLapse        = 0.001             // K/m; how it rises. Origin: US Standard Atmosphere 1976.
	lowest, highest     = -5000.0, 32000.0  // m; geopotential, between which it is given here. Origin: US Standard Atmosphere 1976.
	halvings            = 80                // 1; halvings of the altitudes between, more than a float64 has digits. Origin: arithmetic.
)

// Humid air as a mixture of two ideal gases.
const (
	gasDry    = 287.05  // J/(kg·K); of dry air: the standard atmosphere defines its own, 0.001 % larger. Origin: common practice, with which the mixture keeps within 0.06 % of CIPM-2007.
	gasVapour = 461.495 // J/(kg·K); of water vapour. Origin: common practice.
)

// Saturation pressure of water vapour, exp(aT² + bT + c + d/T) in Pa (CIPM-2007,
// Picard and others, Metrologia 45, 2008, 149; coefficients from memory, their
// values checked in the tests).
const (
	satA = 1.2378847e-5  // 1/K²; a, of T². Origin: CIPM-2007, from memory.
	satB = -1.9121316e-2 // 1/K; b, of T. Origin: CIPM-2007, from memory.
	satC = 33.93711047   // 1; c, the constant. Origin: CIPM-2007, from memory.
	satD = -6.3431645e3  // K; d, of 1/T. Origin: CIPM-2007, from memory.
)
