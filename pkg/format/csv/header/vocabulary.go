package header

import (
	"slices"
	"strings"
)

// Vocabulary is a set of words and of patterns of words.
type Vocabulary struct {
	words                []string // as they are
	first, begin, within []string // "^x*" begins the first word, "x*" any word, "*x*" is in one
}

// Words reads a vocabulary, written with blanks between its words.
func Words(list string) *Vocabulary {
	v := &Vocabulary{}
	for _, w := range strings.Fields(list) {
		s, open := strings.CutSuffix(w, "*")
		switch {
		case !open:
			v.words = append(v.words, w)
		case s[0] == '^':
			v.first = append(v.first, s[1:])
		case s[0] == '*':
			v.within = append(v.within, s[1:])
		default:
			v.begin = append(v.begin, s)
		}
	}
	slices.Sort(v.words)
	return v
}

// In reports whether one of the vocabulary's words is among words.
func (v *Vocabulary) In(words []string) bool {
	for i, w := range words {
		if _, ok := slices.BinarySearch(v.words, w); ok || matches(v.begin, w, strings.HasPrefix) ||
			matches(v.within, w, strings.Contains) || i == 0 && matches(v.first, w, strings.HasPrefix) {
			return true
		}
	}
	return false
}

func matches(parts []string, w string, is func(w, part string) bool) bool {
	return slices.ContainsFunc(parts, func(part string) bool { return is(w, part) })
}

// Vocabularies that more than one rule uses.
var (
	speedWords = Words(`spd vel sog vss v vf fart speedo kmh kph mph geschw *speed* *velocity* *geschwindigkeit* *vitesse*
		*velocidad* *velocita* *snelheid* *hastighe* *predkosc* *rychlost* *nopeus*`)
	// spread says how uncertain something is, not what it is.
	spread = Words(`accuracy acc sd std stdev stddev sigma uncertainty err error precision sacc variance dev`)
	// notSpeed takes a column out of the running whatever else it is called.
	notSpeed = Words(`rpm engine motor wind fan pump idle target set setpoint limit max min vmax error err sorted vertical
		climb angular rotation rotational yaw roll pitch turn shaft clutch turbine turbo cruise delta diff difference gyro
		quality flag count engspd enginespeed transmission drehzahl recommended desired valid status type source unit units dial`)
	// notSpeedSpread is of a vertical speed, or squared.
	notSpeedSpread = Words(`vert* variance*`)
	precision      = Words(`hacc epe eph haccuracy accuracy* horizontalaccuracy*`)
	velocityWord   = Words(`v*`)
	smoothed       = Words(`smoothed smooth filtered avg average mean calc calculated derived`)
	notTime        = Words(`lap engine run accuracy ttff sector split zone delta dt interval remaining best sync status error
		injection ignition dwell age response`)
	timeWords = Words(`time timestamp t zeit uhrzeit zeitstempel temps heure tiempo hora tempo ora tijd tid tidpunkt
		klokkeslett czas cas aika clock utc gmt epoch unix unixtime millis micros nanos elapsed uptime seconds second sec secs
		datetime tow itow sow gpstime horodatage timecode ts milliseconds microseconds sekunden ms us ns s localtime systemtime
		utctime logtime timems timeus times`)

	// accelerationNeeds and lengthNeeds are words after which g and m are units.
	accelerationNeeds = Words(`acc* beschl* lat* long* force* ax* ay* az*`)
	lengthNeeds       = Words(`alt* dist* height* ele* hoehe* h*`)

	accelerationWords = Words(`accel* beschl* acel* accx* accy* accz* gforce* acc a force ax ay az a0 a1 a2 ax1 imu lacc g`)
	// notAcceleration are of a sensor beside it, or of a pedal.
	notAcceleration = Words(`rate gyro gyroscope mag magnetometer angular rotation gravity accuracy pedal accelerator throttle
		hacc vacc position max min avg`)
	without       = Words(`without`)
	linear        = Words(`linear* lin* user* without nog`)
	along         = Words(`longitudinal* forward* langs* inline* long longacc lon fwd lng`)
	lateral       = Words(`lateral* quer* lat latacc`)
	vertical      = Words(`vertical* vert`)
	wholeAccel    = Words(`accel* acc* beschl* acel*`)
	notWholeAccel = Words(`accuracy magnitude norm total abs sum combined amplitude`)

	inertialSpeed = Words(`ref reference ins imu inertial fused ekf kalman vf`)
	wheelSpeed    = Words(`obd* wheel* vss* odo* can* ecu* vehicle* speedo* tacho* abs* ecm* bus* raddreh* drive car fl fr rl rr rad`)
	receiverSpeed = Words(`gps* gnss* sog* ground* location* loc* doppler*`)

	altitudeWords = Words(`alt altitude height hohe hoehe elevation ele msl hmsl altitud hoogte`)
	seaLevel      = Words(`msl sea`)
	notSeaLevel   = Words(`ellip* baro* wgs* geoid* pressure`)
	headingWords  = Words(`heading bearing hdg azimuth headmot direction richtung`)
	positionWords = Words(`horizontal* position* location* gps* pos*`)
	satellites    = Words(`sats sat satellites nsat numsv sv svs nsats satcount siv ^satellitesused*`)
	lapWords      = Words(`lap laps lapnumber runde lapno tour giro varv`)
	distanceWords = Words(`distance dist trip odometer strecke distanz distancia`)
)
