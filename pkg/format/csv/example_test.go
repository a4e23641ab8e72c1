package csv_test

import (
	"context"
	"fmt"
	"strings"

	"fromrest/pkg/format/csv"
	"fromrest/pkg/recording"
)

// A table of a logger that nobody described: the reader finds the clock, the
// speed with its unit and its source, and says what it dropped.
func ExampleRead() {
	const log = `Time;GPS speed (km/h);Lap
12:00:00,0;0,0;1
12:00:00,1;1,8;1
12:00:00,2;3,6;1
12:00:00,3;lost;1
12:00:00,4;7,2;2
`
	rec, err := csv.Read(context.Background(), strings.NewReader(log), "box.csv", csv.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	tr := rec.Primary()
	fmt.Printf("clock %s, %s speed %q\n", rec.Clock, tr.Source, tr.Name)
	for i := range tr.Len() {
		fmt.Printf("%s %.1f m/s\n", tr.TimeAt(i).Format("15:04:05.0"), tr.Value(recording.Speed, i))
	}
	for _, m := range rec.Marks {
		fmt.Println(m.Kind, m.Text)
	}
	for _, g := range rec.Problems.Groups() {
		fmt.Printf("%s %s: line %d: %s\n", g.Kind, g.Effect, g.First().Line, g.First().Text)
	}
	// Output:
	// clock time-of-day, gnss speed "GPS speed (km/h)"
	// 12:00:00.0 0.0 m/s
	// 12:00:00.1 0.5 m/s
	// 12:00:00.2 1.0 m/s
	// 12:00:00.4 2.0 m/s
	// lap Lap 2
	// value dropped: line 5: "lost" is no value for column "GPS speed (km/h)"
}

// A mapping names the columns that a header leaves open.
func ExampleParseMapping() {
	m, err := csv.ParseMapping(`time=#1:ms,speed="V, filtered":mph`)
	fmt.Println(err)
	for _, c := range m.Columns {
		fmt.Println(c.Role, "from", c.Column, "in", c.Unit)
	}
	// Output:
	// <nil>
	// time from #1 in ms
	// speed from V, filtered in mph
}
