package bench

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"time"
)

// start is when the invented drive begins.
var start = time.Date(2026, 6, 14, 9, 0, 0, 0, time.UTC)

// moment is one instant of the drive: up to 60 knots and back, for ever.
func moment(i int) (lat, lon, speed, course float64) {
	s := math.Sin(float64(i) / 300)
	return 52.2 + float64(i%1000)*2e-5, 7.9 + float64(i%997)*3e-5, 15 + 15*s, float64(i%3600) / 10
}

// kind is a kind of log, with what one record of it is.
type kind struct {
	format, name, record string
	write                func(w io.Writer, bytes int64) (records int, err error)
}

// logs are the kinds of log that are written.
var logs = []kind{
	{"nmea", "drive.nmea", "sentence", writeNMEA},
	{"fit", "drive.fit", "record", writeFIT},
	{"csv", "drive.csv", "row", writeCSV},
	{"gpx", "drive.gpx", "point", writeGPX},
}

// generate writes a log of about the given size and returns its path, its size
// and how many records it holds.
func generate(dir, name string, write func(io.Writer, int64) (int, error), bytes int64) (path string, size int64, records int, err error) {
	path = filepath.Join(dir, name)
	f, err := os.Create(path)
	if err != nil {
		return "", 0, 0, err
	}
	defer func() { _ = f.Close() }() // closed already where all was written
	w := bufio.NewWriterSize(f, 1<<20)
	if records, err = write(w, bytes); err != nil {
		return "", 0, 0, err
	}
	if err := w.Flush(); err != nil {
		return "", 0, 0, err
	}
	info, err := f.Stat()
	if err != nil {
		return "", 0, 0, err
	}
	return path, info.Size(), records, f.Close()
}

// sentence closes the sentence that begins at from, behind its dollar sign.
func sentence(b []byte, from int) []byte {
	var x byte
	for _, c := range b[from:] {
		x ^= c
	}
	const hex = "0123456789ABCDEF"
	return append(b, '*', hex[x>>4], hex[x&15], '\r', '\n')
}

// angle appends degrees and minutes, as NMEA has them.
func angle(b []byte, v float64, width int) []byte {
	d := math.Trunc(v)
	s := strconv.FormatFloat(d*100+(v-d)*60, 'f', 5, 64)
	for k := len(s); k < width; k++ {
		b = append(b, '0')
	}
	return append(b, s...)
}

// writeNMEA writes RMC, VTG and GGA at 10 Hz.
func writeNMEA(w io.Writer, bytes int64) (int, error) {
	var b []byte
	n := 0
	for i := 0; bytes > 0; i++ {
		lat, lon, v, course := moment(i)
		t := start.Add(time.Duration(i) * 100 * time.Millisecond)
		clock := t.AppendFormat(nil, "150405.00")
		b = append(b[:0], "$GNRMC,"...)
		b = append(append(b, clock...), ",A,"...)
		place := len(b)
		b = append(angle(b, lat, 10), ",N,"...)
		b = append(angle(b, lon, 11), ",E,"...)
		end := len(b)
		b = strconv.AppendFloat(b, v/0.514444, 'f', 3, 64)
		b = append(strconv.AppendFloat(append(b, ','), course, 'f', 2, 64), ',')
		b = append(t.AppendFormat(b, "020106"), ",,,A"...)
		b = sentence(b, 1)
		from := len(b)
		b = append(b, "$GNVTG,"...)
		b = append(strconv.AppendFloat(b, course, 'f', 2, 64), ",T,,M,"...)
		b = append(strconv.AppendFloat(b, v/0.514444, 'f', 3, 64), ",N,"...)
		b = append(strconv.AppendFloat(b, v*3.6, 'f', 3, 64), ",K,A"...)
		b = sentence(b, from+1)
		from = len(b)
		b = append(append(append(b, "$GNGGA,"...), clock...), ',')
		b = append(append(b, b[place:end]...), "1,12,0.78,"...)
		b = append(strconv.AppendFloat(b, 88+float64(i%50)/10, 'f', 1, 64), ",M,45.3,M,,"...)
		b = sentence(b, from+1)
		if _, err := w.Write(b); err != nil {
			return n, err
		}
		bytes -= int64(len(b))
		n += 3
	}
	return n, nil
}

// writeCSV writes rows at 25 Hz.
func writeCSV(w io.Writer, bytes int64) (int, error) {
	b := []byte("time_ms,latitude,longitude,altitude_m,speed_kmh,course_deg,hdop,satellites\n")
	n := 0
	for ; bytes > 0; n++ {
		lat, lon, v, course := moment(n)
		b = strconv.AppendInt(b, start.UnixMilli()+int64(n)*40, 10)
		for _, c := range []struct {
			v        float64
			decimals int
		}{{lat, 7}, {lon, 7}, {88 + float64(n%50)/10, 1}, {v * 3.6, 3}, {course, 1}, {0.8, 1}, {17, 0}} {
			b = strconv.AppendFloat(append(b, ','), c.v, 'f', c.decimals, 64)
		}
		b = append(b, '\n')
		if _, err := w.Write(b); err != nil {
			return n, err
		}
		bytes -= int64(len(b))
		b = b[:0]
	}
	return n, nil
}

// writeGPX writes points at 10 Hz with the speed in the extensions.
func writeGPX(w io.Writer, bytes int64) (int, error) {
	b := []byte(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + `<gpx version="1.1" creator="fromrest" xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x"><trk><trkseg>` + "\n")
	n := 0
	for ; bytes > 0; n++ {
		lat, lon, v, _ := moment(n)
		b = append(strconv.AppendFloat(append(b, `<trkpt lat="`...), lat, 'f', 7, 64), `" lon="`...)
		b = append(strconv.AppendFloat(b, lon, 'f', 7, 64), `"><ele>`...)
		b = append(strconv.AppendFloat(b, 88+float64(n%50)/10, 'f', 1, 64), `</ele><time>`...)
		b = start.Add(time.Duration(n)*100*time.Millisecond).AppendFormat(b, "2006-01-02T15:04:05.000Z")
		b = append(b, `</time><extensions><x:speed>`...)
		b = append(strconv.AppendFloat(b, v, 'f', 3, 64), "</x:speed></extensions></trkpt>\n"...)
		if _, err := w.Write(b); err != nil {
			return n, err
		}
		bytes -= int64(len(b))
		b = b[:0]
	}
	_, err := io.WriteString(w, "</trkseg></trk></gpx>\n")
	return n, err
}

// writeFIT writes records at 1 Hz, as devices do.
func writeFIT(w io.Writer, bytes int64) (int, error) {
	const size = 27
	n := int(bytes / size)
	fields := []byte{253, 4, 0x86, 0, 4, 0x85, 1, 4, 0x85, 5, 4, 0x86, 73, 4, 0x86, 78, 4, 0x86, 3, 1, 2, 13, 1, 1}
	body := []byte{0x40, 0, 0, 0, 0, 1, 0, 1, 0, 0, 4, 0x41, 0, 0, 20, 0, byte(len(fields) / 3)}
	body = append(body, fields...)
	le := binary.LittleEndian
	head := le.AppendUint16([]byte{14, 0x20}, 2118)
	head = le.AppendUint32(head, uint32(len(body)+n*size))
	head = append(head, ".FIT"...)
	head = le.AppendUint16(head, 0)
	sum := &crc{}
	out := io.MultiWriter(w, sum)
	if _, err := out.Write(append(head, body...)); err != nil {
		return 0, err
	}
	b := make([]byte, 0, size)
	for i := range n {
		lat, lon, v, _ := moment(i)
		b = append(b[:0], 1)
		b = le.AppendUint32(b, 1000000000+uint32(i))
		b = le.AppendUint32(b, uint32(int32(lat/180*(1<<31))))
		b = le.AppendUint32(b, uint32(int32(lon/180*(1<<31))))
		b = le.AppendUint32(b, uint32(i*1500))
		b = le.AppendUint32(b, uint32(v*1000))
		b = le.AppendUint32(b, uint32((88+500)*5+i%50))
		b = append(b, 80, 20)
		if _, err := out.Write(b); err != nil {
			return i, err
		}
	}
	_, err := w.Write(le.AppendUint16(nil, sum.c))
	return n, err
}

// megabytes prints a size.
func megabytes(n int64) string { return fmt.Sprintf("%.0f MB", float64(n)/1e6) }
