package fit

// The messages of the FIT profile that a log is made of.
const (
	mesgFileID      = 0
	mesgLap         = 19
	mesgRecord      = 20
	mesgEvent       = 21
	mesgDevice      = 23
	mesgGPS         = 160 // gps_metadata
	mesgCorrelation = 162 // timestamp_correlation
	mesgAccel       = 165 // accelerometer_data
	mesgCalibration = 167 // three_d_sensor_calibration
)

// fieldTime is the time stamp in every message.
const fieldTime = 253

// Base types of the protocol.
const (
	typeEnum    = 0x00
	typeUint8   = 0x02
	typeString  = 0x07
	typeByte    = 0x0D
	typeSint16  = 0x83
	typeUint16  = 0x84
	typeSint32  = 0x85
	typeUint32  = 0x86
	typeFloat32 = 0x88
)

// baseSize is the size of a base type in bytes, 0 where there is no such type.
var baseSize = [256]byte{
	typeEnum: 1, 0x01: 1, typeUint8: 1, typeString: 1, 0x0A: 1, typeByte: 1,
	typeSint16: 2, typeUint16: 2, 0x8B: 2,
	typeSint32: 4, typeUint32: 4, typeFloat32: 4, 0x8C: 4,
	0x89: 8, 0x8E: 8, 0x8F: 8, 0x90: 8,
}

// field is a field that is wanted from a message.
type field struct {
	num, base byte
	array     bool
	name      string
}

// wanted is a message of which something is read.
type wanted struct {
	name   string
	stamp  bool // useless without a time stamp
	take   func(*gather, *message)
	fields []field
}

// profile holds the messages and fields that are read. All others are stepped
// over, so that a field of theirs that is not as it should be costs nothing.
var profile = map[uint16]*wanted{
	mesgFileID: {"file_id", false, (*gather).identify, []field{
		{1, typeUint16, false, "manufacturer"}, {2, typeUint16, false, "product"}}},
	mesgLap: {"lap", true, (*gather).event, []field{{2, typeUint32, false, "start_time"}}},
	mesgRecord: {"record", true, (*gather).record, []field{
		{0, typeSint32, false, "position_lat"}, {1, typeSint32, false, "position_long"},
		{2, typeUint16, false, "altitude"}, {6, typeUint16, false, "speed"},
		{8, typeByte, true, "compressed_speed_distance"}, {17, typeUint8, true, "speed_1s"},
		{31, typeUint8, false, "gps_accuracy"}, {32, typeSint16, false, "vertical_speed"},
		{73, typeUint32, false, "enhanced_speed"}, {78, typeUint32, false, "enhanced_altitude"}}},
	mesgEvent: {"event", true, (*gather).event, []field{
		{0, typeEnum, false, "event"}, {1, typeEnum, false, "event_type"}}},
	mesgDevice: {"device_info", false, (*gather).event, []field{
		{0, typeUint8, false, "device_index"}, {1, typeUint8, false, "device_type"}, {2, typeUint16, false, "manufacturer"},
		{4, typeUint16, false, "product"}, {5, typeUint16, false, "software_version"}, {25, typeEnum, false, "source_type"}}},
	mesgGPS: {"gps_metadata", true, (*gather).metadata, []field{
		{0, typeUint16, false, "timestamp_ms"}, {1, typeSint32, false, "position_lat"}, {2, typeSint32, false, "position_long"},
		{3, typeUint32, false, "enhanced_altitude"}, {4, typeUint32, false, "enhanced_speed"}, {5, typeUint16, false, "heading"},
		{6, typeUint32, false, "utc_timestamp"}, {7, typeSint16, true, "velocity"}}},
	mesgCorrelation: {"timestamp_correlation", true, (*gather).correlate, []field{
		{0, typeUint16, false, "fractional_timestamp"}, {1, typeUint32, false, "system_timestamp"},
		{2, typeUint16, false, "fractional_system_timestamp"}, {4, typeUint16, false, "timestamp_ms"},
		{5, typeUint16, false, "system_timestamp_ms"}}},
	mesgAccel: {"accelerometer_data", true, (*gather).samples, []field{
		{0, typeUint16, false, "timestamp_ms"}, {1, typeUint16, true, "sample_time_offset"},
		{2, typeUint16, true, "accel_x"}, {3, typeUint16, true, "accel_y"}, {4, typeUint16, true, "accel_z"},
		{5, typeFloat32, true, "calibrated_accel_x"}, {6, typeFloat32, true, "calibrated_accel_y"}, {7, typeFloat32, true, "calibrated_accel_z"},
		{8, typeSint16, true, "compressed_calibrated_accel_x"}, {9, typeSint16, true, "compressed_calibrated_accel_y"},
		{10, typeSint16, true, "compressed_calibrated_accel_z"}}},
	mesgCalibration: {"three_d_sensor_calibration", false, (*gather).calibrate, []field{
		{0, typeEnum, false, "sensor_type"}, {1, typeUint32, false, "calibration_factor"}, {2, typeUint32, false, "calibration_divisor"},
		{3, typeUint32, false, "level_shift"}, {4, typeSint32, true, "offset_cal"}, {5, typeSint32, true, "orientation_matrix"}}},
}

// find returns the wanted field of a number, or nil.
func (m *wanted) find(num byte) *field {
	for i := range m.fields {
		if m.fields[i].num == num {
			return &m.fields[i]
		}
	}
	return nil
}
