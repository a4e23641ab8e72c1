package compare_test

import (
	"fmt"
	"log"

	"fromrest/pkg/session/compare"
	"fromrest/pkg/session/compare/contrast"
)

// Three runs each of two modes, driven in turn and both ways, and the verdict.
func ExampleAt() {
	var runs []compare.Run
	for i, seconds := range []float64{10.52, 11.03, 11.09, 10.55, 10.49, 11.06} {
		mode := []string{"sport", "eco", "eco", "sport", "sport", "eco"}[i]
		heading := []float64{64, 244}[i%2] // degrees
		runs = append(runs, compare.Run{ID: fmt.Sprint("run ", i+1), Mode: mode, Heading: heading, Order: i + 1,
			Seconds: seconds, U: 0.02, Counted: true})
	}
	target, err := compare.At("0-60 mph", "rollout", runs, compare.Options{Plan: contrast.Plan{Final: true}})
	if err != nil {
		log.Fatal(err)
	}
	pair := target.Pairs[0]
	fmt.Println(target.Model)
	fmt.Println("verdict:", pair.Verdict)
	fmt.Println(pair.Sentence)
	// Output:
	// mode + direction + order, 2 residual degrees of freedom
	// verdict: a quicker
	// sport is 0.54 s (±0.20) quicker than eco
}
