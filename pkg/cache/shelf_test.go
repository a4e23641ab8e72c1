package cache

import (
	"fmt"
	"slices"
	"sync"
	"testing"
)

// What many put on a shelf at one time comes back whole, in any order.
func TestShelf(t *testing.T) {
	s, err := OpenShelf()
	if err != nil {
		t.Fatal(err)
	}
	type thing struct {
		Name string
		X    Floats
	}
	of := func(i int) thing {
		v := thing{Name: fmt.Sprint(i)}
		for k := range i % 50 {
			v.X = append(v.X, float64(i)/float64(k+1))
		}
		return v
	}
	places := make([]Place, 200)
	var g sync.WaitGroup
	for i := range places {
		g.Go(func() {
			p, err := s.Put(of(i))
			if err != nil {
				t.Error(err)
			}
			places[i] = p
		})
	}
	g.Wait()
	for i := len(places) - 1; i >= 0; i-- {
		var got thing
		if err := s.Get(places[i], &got); err != nil || got.Name != of(i).Name || !slices.Equal(got.X, of(i).X) {
			t.Fatalf("%d came back as %v: %v", i, got, err)
		}
	}
	if (Place{}).Is() || !places[0].Is() {
		t.Error("nowhere is a place, or a place is nowhere")
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	var got thing
	if _, err := s.Put(of(1)); err == nil || s.Get(places[0], &got) == nil {
		t.Error("a closed shelf takes or gives")
	}
}
