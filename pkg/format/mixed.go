package format

import (
	"context"
	"io"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/nmea"
	"fromrest/pkg/format/ubx"
	"fromrest/pkg/recording"
)

// readMixed reads a log in which UBX frames lie between NMEA sentences: each
// reader sees all bytes, and the tracks are put side by side.
func readMixed(ctx context.Context, r io.Reader, name string, o Options) (*recording.Recording, error) {
	pr, pw := io.Pipe()
	done := make(chan *recording.Recording)
	go func() {
		// Its errors say that there was nothing to add, or repeat the other
		// reader's.
		rec, _ := ubx.Read(ctx, pr, name)
		_, _ = io.Copy(io.Discard, pr) // never let the other reader wait
		done <- rec
	}()
	rec, err := nmea.Read(ctx, io.TeeReader(r, pw), name, nmea.Options{Size: o.size, Workers: o.Workers})
	_ = pw.Close() // a pipe's end always closes
	bin := <-done
	if len(bin.Tracks) == 0 {
		return rec, err
	}
	rec.Problems.Merge(&bin.Problems)
	switch {
	case ctx.Err() != nil:
		return rec, err
	case len(rec.Tracks) == 0:
		if rec.Undated && rec.Accel != nil {
			rec.Accel = nil // on a day of its own
		}
		rec.Tracks, err = bin.Tracks, nil
	case rec.Undated:
		// The sentences give no date, so the two cannot share a clock.
		rec.Problems.Addf("undated-sentences", diag.Dropped, 1, "the sentences have no date while UBX solutions do: only the solutions were taken")
		rec.Tracks, rec.Accel = bin.Tracks, nil
	case better(bin.Primary(), rec.Primary()):
		rec.Tracks = append(bin.Tracks, rec.Tracks...)
	default:
		rec.Tracks = append(rec.Tracks, bin.Tracks...)
	}
	if rec.Accel == nil {
		rec.Accel = bin.Accel
	}
	rec.Undated, rec.Clock = false, "utc"
	return rec, err
}

// better reports whether the solutions, which print speed in mm/s with its
// components, go before the sentences: unless they are much fewer.
func better(solutions, sentences *recording.Track) bool {
	return sentences.Source == recording.Position || 10*solutions.Len() >= 9*sentences.Len()
}
