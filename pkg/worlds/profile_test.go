package worlds

import (
	"bytes"
	"context"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// analysed drives a world and analyses its log with what is known of the receiver.
func analysed(t *testing.T, w World, seed uint64, known sheet.Receiver) (*session.Result, *Motion, time.Time) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 3))
	m := w.Drive(rng)
	begin := time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)
	log := w.Receiver.Observe(m, begin, rng)
	res, err := session.Run(context.Background(), []session.Input{{Path: "world.nmea", Mode: "m",
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(log)), nil }}}, session.Options{NoTraces: true, Receiver: known})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(w.Name, err, res.Failed)
	}
	return res, m, begin
}

// A profile that a session with firm stops wrote makes the times of a log without stops
// sharper and holds; one of another receiver, which is slower than the log's, is named.
func TestProfileOfAReceiver(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	slow := World{Vehicle: car, Foot: quickFoot, Stopping: Firm, Receiver: with(plain(10, 0.05), func(r *Receiver) { r.Lag = 0.2 })}
	unseen, quick := slow, slow
	unseen.Stopping = Unseen
	quick.Stopping, quick.Receiver.Lag = Unseen, 0
	var alone, told errorsOf
	named := 0
	const sessions = 5
	for i := range uint64(sessions) {
		var b bytes.Buffer
		res, _, _ := analysed(t, slow, 100+i, sheet.Receiver{})
		if err := res.WriteReceiver(&b); err != nil {
			t.Fatal(err)
		}
		sh, err := sheet.Read(strings.NewReader(b.String()), "receiver.toml")
		if err != nil {
			t.Fatal(err, b.String())
		}
		if sh.Receiver.Filter != "first-order" || math.Abs(sh.Receiver.Delay-0.2) > 0.05 {
			t.Errorf("session %d: %+v", i, sh.Receiver)
		}
		for k, known := range []sheet.Receiver{{}, sh.Receiver} {
			res, m, begin := analysed(t, unseen, 200+i, known)
			for _, s := range m.Starts {
				for _, r := range res.StandingStarts() {
					x, ok := r.Time("0-60 mph", timing.FromRollout)
					if !ok || math.Abs(r.Launch.Sub(begin).Seconds()-s.Launch) > 2 {
						continue
					}
					of := &alone
					if k == 1 {
						of = &told
					}
					of.miss, of.half = append(of.miss, x.Seconds-s.Rollout["0-60 mph"]), append(of.half, x.U95)
				}
			}
		}
		res, _, _ = analysed(t, quick, 300+i, sh.Receiver)
		if sm := res.Logs[0].Quality.Smoothing; sm != nil && sm.Profile == estimate.Contradicts {
			named++
		}
	}
	t.Logf("0-60 mph with rollout: half-width %.0f ms alone, %.0f with the profile; RMS %.0f and %.0f ms; holds in %.0f and %.0f %% of %d; a wrong profile is named in %d of %d",
		1e3*alone.median(), 1e3*told.median(), 1e3*alone.rms(), 1e3*told.rms(), alone.held(), told.held(), len(told.miss), named, sessions)
	if told.held() < 80 || told.median() > 0.6*alone.median() || named < sessions-1 {
		t.Errorf("holds in %.0f %%, half-width %.3f s for %.3f s alone, named %d of %d", told.held(), told.median(), alone.median(), named, sessions)
	}
}
