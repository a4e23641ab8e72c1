package clock

import (
	"cmp"
	"fmt"
	"time"

	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
)

// Sample is the head of a table, in which clocks are looked for.
type Sample struct {
	Columns []header.Heading
	Rows    [][][]byte
	Decimal byte
	Order   string         // of the numbers of a date, "" to be found, else a name of text.OrderNamed
	Forms   map[int]string // how the user says that a column writes time
}

// Forms are the names of how a time can be written beside the units of duration.
var Forms = []string{"iso", "tod", "hhmmss", "gps", "day"}

// Words that tell something of a clock.
var (
	secondWords  = header.Words(`second seconds sec sekunde`)
	dateTime     = header.Words(`time datetime`)
	elapsedWords = header.Words(`elapsed duration runtime stopwatch`)
	digitWords   = header.Words(`utc hhmmss hhmmsssss gmt`)
	gpsWords     = header.Words(`tow sow itow gps gpstime`)
	sensorWords  = header.Words(`sensor* gnss* gps* utc* meas*`)
)

// Find lists the clocks of the sample that run.
func Find(s *Sample) []*Clock {
	date, week, cols := s.columns()
	if c := s.inParts(cols); c.measure(s.Rows).usable() {
		return []*Clock{c}
	}
	var out []*Clock
	for i, h := range s.Columns {
		if h.Role != header.Time && h.Role != header.Date {
			continue
		}
		if c := s.inColumn(i, date, week); c.measure(s.Rows).usable() {
			out = append(out, c)
		}
	}
	return out
}

// Rises reports whether column i, of which no header is known, runs as a clock
// does; date is the column of the date, -1 for none.
func Rises(s *Sample, i, date int) bool {
	c := s.inColumn(i, date, -1).measure(s.Rows)
	return c != nil && c.valid > surelyRead && c.back+c.late < surelyForward && (c.distinct > surelyDistinct || c.PerTick > 0) && c.jitter < surelyEven
}

// Why says why column i is no clock, "" where it is one or nothing can be said. Rows
// are counted from the first of the table.
func Why(s *Sample, i int) string {
	as := ""
	if f := s.Forms[i]; f != "" {
		as = " as " + f
	} else if u := s.Columns[i].Unit; u.Name != "" {
		as = " in " + u.Name
	}
	date, week, _ := s.columns()
	c := s.inColumn(i, date, week).measure(s.Rows)
	switch {
	case c == nil && as == "":
		return ""
	case c == nil:
		return fmt.Sprintf("its cells cannot be read%s: row 1 has %q", as, text.Clip(text.Field(s.Rows[0], i)))
	case c.valid <= leastRead:
		for k, row := range s.Rows {
			if _, ok := c.Read(row); !ok {
				return fmt.Sprintf("%.0f %% of its cells cannot be read%s: row %d has %q", 100*(1-c.valid), as, k+1, text.Clip(text.Field(row, i)))
			}
		}
	case c.back >= mostBack:
		for k := 1; k < len(s.Rows); k++ {
			a, ok1 := c.Read(s.Rows[k-1])
			b, ok2 := c.Read(s.Rows[k])
			if ok1 && ok2 && b < a {
				return fmt.Sprintf("it steps back in %.0f %% of the rows, first in row %d, from %q to %q", 100*c.back, k+1,
					text.Clip(text.Field(s.Rows[k-1], i)), text.Clip(text.Field(s.Rows[k], i)))
			}
		}
	case c.Median == 0:
		return "it is the same in every row"
	}
	return ""
}

// Counts1970 reports whether column i rises as a count from 1970 does.
func Counts1970(s *Sample, i int) bool {
	c := s.inColumn(i, -1, -1).measure(s.Rows)
	return c != nil && c.Kind == UTC && len(text.Column(s.Rows, i)) > 0 && text.AllDigits(text.Column(s.Rows, i)[0][:1]) &&
		c.valid > surelyRead && c.back < surelyForward && (c.distinct > surelyDistinct || c.PerTick > 0) && c.jitter < surelyEven
}

// columns finds the columns with the date, the GPS week, and the year to the
// millisecond where each has its own; -1 for none.
func (s *Sample) columns() (date, week int, cols [parts]int) {
	date, week = -1, -1
	cols = [parts]int{-1, -1, -1, -1, -1, -1, -1}
	for i, h := range s.Columns {
		switch h.Role {
		case header.Date:
			if date < 0 {
				date = i
			}
		case header.Week:
			week = i
		case header.Year, header.Month, header.Day, header.Hour, header.Minute:
			cols[h.Role-header.Year] = i
		case header.Time:
			if cols[seconds] < 0 && cols[hours] >= 0 && cols[minutes] >= 0 && secondWords.In(h.Words) {
				cols[seconds] = i
			} else if cols[seconds] >= 0 && cols[milliseconds] < 0 && h.Unit.Name == "ms" && len(h.Words) == 1 {
				cols[milliseconds] = i
			}
		}
	}
	return date, week, cols
}

// inParts is the clock of a table with a column each for hour, minute and
// second, nil where it has none.
func (s *Sample) inParts(cols [parts]int) *Clock {
	if min(cols[hours], cols[minutes], cols[seconds]) < 0 {
		return nil
	}
	c := &Clock{Name: s.Columns[cols[seconds]].Raw, Kind: TimeOfDay, Col: -1, Date: -1, week: -1, decimal: s.Decimal, parts: &cols}
	if min(cols[year], cols[month], cols[dayOfMonth]) >= 0 {
		c.Kind = UTC
	}
	c.Step = printedStep(second, text.Decimals(text.Column(s.Rows, cols[seconds]), s.Decimal))
	if cols[milliseconds] >= 0 {
		c.Step = time.Millisecond
	}
	return c
}

// printedStep is the step of a count in units of scale ns with so many decimals.
func printedStep(scale int64, decimals int) time.Duration {
	for range decimals {
		scale /= 10
	}
	return time.Duration(scale)
}

// inColumn finds how column i writes time, or gives nil.
func (s *Sample) inColumn(i, date, week int) *Clock {
	cells := text.Column(s.Rows, i)
	if len(cells) == 0 {
		return nil
	}
	h := &s.Columns[i]
	c := &Clock{Name: cmp.Or(h.Raw, fmt.Sprintf("#%d", i+1)), Col: i, Date: -1, week: -1, decimal: s.Decimal}
	form := s.Forms[i]
	if date == i {
		date = -1
	}
	if (form == "" || form == "iso" || form == "tod") && s.inText(c, cells, date) {
		return c
	}
	if h.Role == header.Date && form == "" && !dateTime.In(h.Words) {
		return nil
	}
	var v []float64
	for _, cell := range cells {
		if x, rest, ok := text.Number(cell, s.Decimal); ok && len(rest) <= longestUnit {
			v = append(v, x)
		}
	}
	if len(v)*2 < len(cells) || !s.inNumbers(c, v, text.Decimals(cells, s.Decimal), date) {
		return nil
	}
	if c.GPSWeek && week >= 0 {
		c.Kind, c.week, c.GPSWeek = UTC, week, false
	}
	return c
}

// dateOrder is the order the user gave, or what the dates show.
func (s *Sample) dateOrder(cells [][]byte) (order text.DateOrder, guess string, ok bool) {
	order, guess, ok = text.FindOrder(cells)
	if o, given := text.OrderNamed[s.Order]; given {
		return o, "", ok
	}
	return order, guess, ok
}

// addDate makes a time of day into an instant where the date column reads.
func (s *Sample) addDate(c *Clock, date int) {
	if date < 0 {
		return
	}
	if order, guess, ok := s.dateOrder(text.Column(s.Rows, date)); ok {
		c.Kind, c.Date, c.order, c.Guess = UTC, date, order, guess
	}
}

// inText reads the column as text with a date, a time of day or both.
func (s *Sample) inText(c *Clock, cells [][]byte, date int) bool {
	dated, clocked, elapsed, decimals, ampm := 0, 0, 0, 0, false
	for _, cell := range cells {
		st, ok := text.ParseStamp(cell)
		if !ok || !st.Clocked && text.AllDigits(cell) { // 140214 alone may be anything
			continue
		}
		if st.Dated {
			dated++
		}
		if st.Clocked {
			clocked++
		}
		if st.Elapsed {
			elapsed++
		}
		decimals = max(decimals, st.Decimals)
		ampm = ampm || st.AMPM
	}
	if clocked*2 < len(cells) || clocked == 0 {
		return false
	}
	c.Kind, c.Step, c.Form = TimeOfDay, printedStep(second, decimals), "tod"
	own := dated*2 > clocked // the cells hold the date
	c.cell = func(b []byte) (int64, bool) {
		st, ok := text.ParseStamp(b)
		if !own {
			return st.Nano, ok && st.Clocked
		}
		d, dated := st.Days(c.order)
		return d*day + st.Nano, ok && dated
	}
	switch {
	case own:
		c.Form = "iso"
		var ok bool
		if c.order, c.Guess, ok = s.dateOrder(cells); !ok {
			return false
		}
		if c.Guess != "" && ampm {
			c.order = text.MonthFirst
		}
		c.Kind = UTC
	case date >= 0:
		s.addDate(c, date)
	case elapsed == clocked || elapsedWords.In(header.WordsOf(c.Name)):
		c.Kind = Elapsed
	}
	return true
}
