package timing_test

import (
	"fmt"

	"fromrest/pkg/motion/timing"
)

// A target is read as a user writes it, in SI inside.
func ExampleParseTarget() {
	for _, s := range []string{"0–45 mph", "80-120 kmh", "1/2 miles", "60 mph"} {
		t, err := timing.ParseTarget(s)
		switch {
		case err != nil:
			fmt.Println(err)
		case t.IsDistance():
			fmt.Printf("%s: %.1f m\n", t.Name, t.Distance)
		case t.IsPull():
			fmt.Printf("%s: %.2f to %.2f m/s\n", t.Name, t.From, t.To)
		default:
			fmt.Printf("%s: from rest to %.2f m/s\n", t.Name, t.To)
		}
	}
	// Output:
	// 0-45 mph: from rest to 20.12 m/s
	// 80-120 km/h: 22.22 to 33.33 m/s
	// 1/2 mile: 804.7 m
	// target "60 mph": want speeds such as 0-45 mph or a distance such as 200 m
}
