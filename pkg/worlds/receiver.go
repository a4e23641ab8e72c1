package worlds

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// Receiver is how a log sees the motion. The zero value of every field is a receiver
// without it.
type Receiver struct {
	Rate    float64 // Hz
	Noise   float64 // m/s, standard deviation of each of two velocity components
	Memory  float64 // correlation of neighbouring samples' noise
	BySpeed float64 // m/s of noise more at 30 m/s
	ByAccel float64 // m/s of noise more at 5 m/s²
	Heavy   bool    // noise of Student's t with three degrees of freedom
	Bursts  float64 // a minute; for 1 to 3 s noise is five times as much
	Steps   float64 // a minute; for 2 to 6 s speed is off by up to 0.15 m/s

	Lag     float64 // s, filter of the first order
	Mean    int     // of so many samples
	Track   float64 // gain of a filter that tracks speed and acceleration, 0 for none
	Squat   float64 // degrees of body pitch for 1 g, beneath an antenna on the roof
	Hold    float64 // m/s, below it speed is shown as 0
	Late    int     // samples for which it stays 0 once it is above
	Quantum float64 // m/s
	Blank   bool    // speed is not logged: positions only
	Place   float64 // m, standard deviation of positions, white
}

const (
	knot     = 1852.0 / 3600
	roof     = 1.5  // m above the point about which the body pitches
	heading  = 0.55 // rad from north
	lat0     = 46.2 // degrees
	lon0     = -21.4
	perLat   = 111200.0 // m for a degree
	jumpMost = 0.15     // m/s
)

// fix is what the receiver found at an instant.
type fix struct {
	t, north, east float64 // s, m/s
	x              float64 // m along the straight
}

// Observe logs a motion as NMEA 0183. The log begins on the hour.
func (rx Receiver) Observe(m *Motion, begin time.Time, rng *rand.Rand) []byte {
	fixes := rx.fixes(m, rng)
	var b bytes.Buffer
	zeros := 0
	for _, f := range fixes {
		speed := math.Hypot(f.north, f.east)
		course := math.Mod(math.Atan2(f.east, f.north)*180/math.Pi+360, 360)
		if rx.Quantum > 0 {
			speed = math.Round(speed/rx.Quantum) * rx.Quantum
		}
		if rx.Hold > 0 {
			if speed < rx.Hold {
				zeros = rx.Late
				speed = 0
			} else if zeros > 0 {
				zeros--
				speed = 0
			}
		}
		x := f.x + rx.Place*rng.NormFloat64()
		lat := lat0 + x*math.Cos(heading)/perLat
		lon := lon0 + x*math.Sin(heading)/(perLat*math.Cos(lat0*math.Pi/180))
		at := begin.Add(time.Duration(math.Round(f.t*1000)) * time.Millisecond)
		v, c := fmt.Sprintf("%.3f", speed/knot), fmt.Sprintf("%.2f", course)
		if rx.Blank {
			v, c = "", ""
		}
		la, lo := degrees(math.Abs(lat), 2), degrees(math.Abs(lon), 3)
		sentence(&b, fmt.Sprintf("GNRMC,%s,A,%s,N,%s,W,%s,%s,%s,,,A", at.Format("150405.000"), la, lo, v, c, at.Format("020106")))
		sentence(&b, fmt.Sprintf("GNGGA,%s,%s,N,%s,W,1,14,0.8,120.0,M,46.0,M,,", at.Format("150405.000"), la, lo))
	}
	return b.Bytes()
}

func degrees(x float64, digits int) string {
	whole := math.Floor(x)
	return fmt.Sprintf("%0*d%010.7f", digits, int(whole), 60*(x-whole))
}

func sentence(b *bytes.Buffer, body string) {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	fmt.Fprintf(b, "$%s*%02X\r\n", body, sum)
}

// fixes are the velocities found, with their noise.
func (rx Receiver) fixes(m *Motion, rng *rand.Rand) []fix {
	seen := rx.seen(m)
	every := int(1 / (rx.Rate * tick))
	n, e := rx.noise(rng), rx.noise(rng)
	end := float64(len(m.V)) * tick
	bursts, steps := spans(rng, rx.Bursts, end, 1, 3), spans(rng, rx.Steps, end, 2, 6)
	var out []fix
	var past []float64
	for i := 0; i < len(seen); i += every {
		t := float64(i) * tick
		v := seen[i]
		if rx.Mean > 1 {
			past = append(past, v)
			past = past[max(0, len(past)-rx.Mean):]
			v = 0
			for _, p := range past {
				v += p / float64(len(past))
			}
		}
		sd := rx.Noise + rx.BySpeed*math.Abs(m.V[i])/30 + rx.ByAccel*math.Abs(m.A[i])/5
		if bursts.at(t) != 0 {
			sd *= 5
		}
		v += jumpMost * steps.at(t)
		if m.paused(i) {
			continue
		}
		out = append(out, fix{t: t, north: v*math.Cos(heading) + sd*n(), east: v*math.Sin(heading) + sd*e(), x: m.S[i]})
	}
	return out
}

// paused reports whether nothing was logged at a tick.
func (m *Motion) paused(i int) bool {
	for _, p := range m.Pauses {
		if i >= p[0] && i < p[1] {
			return true
		}
	}
	return false
}

// seen is the speed at the antenna behind the receiver's filter, a value each tick.
func (rx Receiver) seen(m *Motion) []float64 {
	out := make([]float64, len(m.V))
	pitch, slow := 0.0, 0.0
	var tv, ta float64
	every := max(1, int(1/(rx.Rate*tick)))
	for i, v := range m.V {
		if rx.Squat > 0 {
			was := pitch
			pitch += (m.A[i]/gravity*rx.Squat*math.Pi/180 - pitch) * tick / bodyLag
			v -= roof * (pitch - was) / tick
		}
		if rx.Lag > 0 {
			slow += (v - slow) * tick / rx.Lag
			v = slow
		}
		if rx.Track > 0 {
			if i%every == 0 {
				dt := float64(every) * tick
				tv += ta * dt
				miss := v - tv
				tv += rx.Track * miss
				ta += rx.Track * rx.Track / 2 * miss / dt
			}
			v = tv
		}
		out[i] = v
	}
	return out
}

// noise draws neighbouring numbers of a mean of 0 and a variance of 1 that remember
// each other.
func (rx Receiver) noise(rng *rand.Rand) func() float64 {
	was := rng.NormFloat64()
	return func() float64 {
		z := rng.NormFloat64()
		if rx.Heavy { // Student's t of three: a normal over the root of a mean of three squares
			s := 0.0
			for range 3 {
				x := rng.NormFloat64()
				s += x * x / 3
			}
			z /= math.Sqrt(s) * math.Sqrt(3)
		}
		was = rx.Memory*was + math.Sqrt(1-rx.Memory*rx.Memory)*z
		return was
	}
}

// span is a stretch of time with a number from -1 to 1.
type span struct{ from, to, by float64 }

type stretches []span

func spans(rng *rand.Rand, perMinute, end, least, most float64) (out stretches) {
	if perMinute <= 0 {
		return nil
	}
	for t := rng.ExpFloat64() * 60 / perMinute; t < end; t += rng.ExpFloat64() * 60 / perMinute {
		by := within(rng, 0.3, 1)
		if rng.IntN(2) == 0 {
			by = -by
		}
		out = append(out, span{t, t + within(rng, least, most), by})
	}
	return out
}

func (s stretches) at(t float64) float64 {
	for _, x := range s {
		if t >= x.from && t < x.to {
			return x.by
		}
	}
	return 0
}
