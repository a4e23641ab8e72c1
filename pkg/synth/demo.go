package synth

import (
	"bytes"
	_ "embed" // the session sheet
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"time"

	"fromrest/pkg/unit"
)

// DemoLog is one log of the demonstration and what really happened in it.
type DemoLog struct {
	Name    string // file name
	Mode    string // power map the van was in
	Session *Session
	Write   func(w io.Writer) error
}

// DemoSeed is the seed of the demonstration that the command writes.
const DemoSeed = 1958

// demoBlock is one log: the van stays in one mode, drives both ways, and comes
// back to where it began. One whose first run goes back begins at the far end.
type demoBlock struct {
	name, mode string
	minute     int     // after nine o'clock
	wind       float64 // m/s along the runway, it freshens during the morning
	along      float64 // m along the runway, where its log begins
	events     []Event
}

// The events of the morning.
var (
	out     = Event{Kind: Start}
	back    = Event{Kind: Start, Reverse: true}
	lifted  = Event{Kind: Start, Reverse: true, LiftAt: 4.2, LiftFor: 2.1}
	aborted = Event{Kind: Aborted, Reverse: true}
	creep   = Event{Kind: Creep}
	circle  = Event{Kind: Circle}
)

// demoFar is where the runs back begin, in m along the runway: 2 m higher than its near end.
const demoFar = 4000. / 7

// The demonstration: where and when it is driven, with what, and the plan of the
// morning, in which each mode comes early and late, each both ways first, so that
// neither the wind nor the warming van favours one of them. All of it is invented.
var (
	demoScenario = Scenario{
		Begin:      time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC),
		HeadingDeg: 64, LatDeg: 47.1, LonDeg: -19.8, Altitude: 61,
		Road:      Road{Grade: 0.0035, AirDensity: 1.232},
		Variation: Variation{Power: 0.006, Build: 0.015, Distance: 430},
		RestMin:   3, RestMax: 9,
	}
	demoReceiver = Receiver{Noise: 0.05, PositionNoise: 0.8, Step: 0.001 * unit.Knot}
	// demoSensor is the accelerometer of the FIT log.
	demoSensor = Accelerometer{Noise: 0.3, Bias: [3]float64{0.12, -0.2, 0.08}, Scale: [3]float64{0.02, 0.02, 0.02}, Pitch: 0.004,
		Mounting: Rotation{0.8, -0.6, 0, 0.6, 0.8, 0, 0, 0, 1}}
	demoTorque  = map[string]float64{"calm": 190, "plain": 235, "full": 280} // N·m, of each power map
	demoRadius  = 0.35                                                       // m, of the tyres
	demoToPower = 488.0                                                      // rad/s of the engine from which power limits
	demoShiftAt = 506.0                                                      // rad/s of the engine
	demoRatios  = []float64{14.5, 10, 6.9, 4.75}                             // of each gear with the final drive
	// sameVan is what is the same in every map.
	sameVan = Vehicle{Mass: 2080, Inertia: 1.07, DragArea: 1.45, Rolling: 0.012, Loss: 0.07,
		Grip: 7450, BuildMin: 0.10, BuildMax: 0.20}
	demoBlocks = []demoBlock{
		{"calm-1.nmea", "calm", 4, 1.2, 0, []Event{creep, out, back, circle}},
		{"plain-1.nmea", "plain", 11, 1.4, 0, []Event{out, creep, back}},
		{"full-1.nmea", "full", 19, 1.5, 0, []Event{creep, out, aborted, back}},
		{"full-2.fit", "full", 33, 1.8, demoFar, []Event{back, creep, out}},
		{"plain-2.nmea", "plain", 41, 2.0, demoFar, []Event{back, out, lifted}},
		{"calm-2.nmea", "calm", 52, 2.1, demoFar, []Event{creep, back, creep, out}},
	}
)

// demoVan is the van of the demonstration: geared, so that its sheet can be
// explained, and on a damp surface whose grip the stronger maps reach in first
// gear. There they are equals; above they are not.
func demoVan(mode string) Vehicle {
	v := sameVan
	v.Name = "van " + mode
	torque, lowest := demoTorque[mode], demoRatios[0]
	v.Force, v.Power = torque*lowest/demoRadius, torque*demoToPower
	for i, r := range demoRatios[1:] {
		v.Gears = append(v.Gears, Gear{UpSpeed: demoShiftAt * demoRadius / demoRatios[i], ShiftMin: 0.2, ShiftMax: 0.35, Depth: 0.5, Ratio: r / lowest})
	}
	if mode == "full" {
		v.Spin, v.SpinSpeed = 0.08, 6
	}
	return v
}

// Demo simulates the demonstration: an invented panel van with three power maps
// on the damp runway of an airfield that does not exist, at a place in the open
// ocean. Five logs are 10 Hz NMEA; the sixth is a FIT file with a 100 Hz
// accelerometer. The same seed gives the same bytes.
func Demo(seed uint64) ([]DemoLog, error) {
	var logs []DemoLog
	for i, b := range demoBlocks {
		sc := demoScenario
		sc.Begin, sc.Road.HeadWind = sc.Begin.Add(time.Duration(b.minute)*time.Minute), b.wind
		sc.move(b.along)
		for _, ev := range b.events {
			ev.Mode, ev.Vehicle = b.mode, demoVan(b.mode)
			sc.Events = append(sc.Events, ev)
		}
		s, err := sc.Simulate(seed + uint64(i))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", b.name, err)
		}
		logs = append(logs, DemoLog{Name: b.name, Mode: b.mode, Session: s, Write: demoWriter(s, b.name, seed+uint64(i))})
	}
	return logs, nil
}

// move puts the beginning of a scenario so many m on along its heading.
func (sc *Scenario) move(along float64) {
	sin, cos := math.Sincos(sc.HeadingDeg * math.Pi / 180)
	n, e := unit.EarthRadii(sc.LatDeg)
	sc.LonDeg += along * sin / e * 180 / math.Pi
	sc.LatDeg += along * cos / n * 180 / math.Pi
	sc.Altitude += along * sc.Road.Grade
}

// demoWriter returns what writes a session in the format of its name.
func demoWriter(s *Session, name string, seed uint64) func(io.Writer) error {
	rx := demoReceiver
	if filepath.Ext(name) != ".fit" {
		return func(w io.Writer) error { return WriteNMEA(w, s.Recording(rx, nil, seed), NMEAOptions{}) }
	}
	rx.Step = 0
	return func(w io.Writer) error {
		return WriteFIT(w, s.Recording(rx, &demoSensor, seed), FITOptions{SincePowerOn: true})
	}
}

// DemoSheet is the name of the demonstration's session sheet.
const DemoSheet = "session.toml"

//go:embed demo_session.toml
var demoSheet []byte

// WriteDemo writes the demonstration's logs and its session sheet into a folder,
// which is made if it does not exist, over files of the same names. It returns
// the logs in the order they were driven.
func WriteDemo(dir string) ([]DemoLog, error) {
	logs, err := Demo(DemoSeed)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	for _, l := range logs {
		var buf bytes.Buffer
		if err := l.Write(&buf); err != nil {
			return nil, fmt.Errorf("%s: %w", l.Name, err)
		}
		if err := os.WriteFile(filepath.Join(dir, l.Name), buf.Bytes(), 0o644); err != nil {
			return nil, err
		}
	}
	return logs, os.WriteFile(filepath.Join(dir, DemoSheet), demoSheet, 0o644)
}
