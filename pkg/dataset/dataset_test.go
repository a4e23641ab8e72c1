package dataset

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// demonstration is the result of the demonstration's first logs, with a target more.
func demonstration(t *testing.T, n int) *session.Result {
	t.Helper()
	dir := t.TempDir()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	var in []session.Input
	for _, l := range logs[:n] {
		in = append(in, session.Input{Path: filepath.Join(dir, l.Name), Mode: l.Mode})
	}
	target, err := timing.ParseTarget("0-45 mph")
	if err != nil {
		t.Fatal(err)
	}
	res, err := session.Run(context.Background(), in, session.Options{Version: "v1", Targets: []timing.Target{target}})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	return res
}

func TestParquetHoldsTheResult(t *testing.T) {
	const name = "runway, 1st day"
	res := demonstration(t, 2)
	sh, err := sheet.Parse("[[exclude]]\nrun = \"calm-1#1\"\nreason = \"gust\"\n", "sheet")
	if err == nil {
		res = session.Merge(session.Options{Version: "v1", Sheet: sh}, res)
		err = res.SheetError
	}
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for range 2 { // the second time replaces the partition
		files, err := Write(dir, name, res)
		if err != nil || len(files) != 5 {
			t.Fatalf("%v %v", files, err)
		}
	}
	at := func(set string) string { return filepath.Join(dir, set, "session=runway__1st_day", "part-0.parquet") }
	runs, err := parquet.ReadFile[runRow](at("runs"))
	if err != nil || len(runs) != len(res.Runs) {
		t.Fatalf("%d runs, %v; want %d", len(runs), err, len(res.Runs))
	}
	for i, r := range res.Runs {
		if runs[i].Run != r.ID || runs[i].Counted != r.Counted || runs[i].Excluded != r.Excluded || *runs[i].Launch != r.Launch.UnixMicro() || *runs[i].MaxSpeed != r.MaxSpeed {
			t.Errorf("run %+v, want %s %v", runs[i], r.ID, r.Launch)
		}
	}
	if runs[0].Excluded != "gust" {
		t.Errorf("the sheet was not applied: %+v", runs[0])
	}
	times, err := parquet.ReadFile[timeRow](at("times"))
	if err != nil {
		t.Fatal(err)
	}
	n, added, unknown := 0, 0, 0
	for _, r := range res.Runs {
		for _, tm := range append(r.Times, r.Pulls...) {
			got := times[n]
			if got.Run != r.ID || got.Name != tm.Name || *got.Seconds != tm.Seconds || (got.Trap == nil) != math.IsNaN(tm.TrapSpeed) {
				t.Fatalf("time %+v, want %+v", got, tm)
			}
			if got.Name == "0-45 mph" {
				added++
			}
			if got.Trap == nil {
				unknown++
			}
			n++
		}
	}
	if n != len(times) || added == 0 || unknown == 0 {
		t.Errorf("%d times of %d, %d of the added target, %d without a trap speed", len(times), n, added, unknown)
	}
	f, err := os.Open(at("times"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	st, _ := f.Stat()
	pf, err := parquet.OpenFile(f, st.Size())
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]string{"schema": Schema, "unit:seconds": "s", "unit:trap_speed_mps": "m/s"} {
		if got, _ := pf.Lookup(key); got != want {
			t.Errorf("metadata %s is %q, want %q", key, got, want)
		}
	}
	independent(t, at("times"), at("traces"), res)
}

// independent reads the files with a reader that shares no code with the writer,
// fetched for the test through npm.
func independent(t *testing.T, times, traces string, res *session.Result) {
	t.Helper()
	dir := t.TempDir()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if _, err := exec.LookPath("npm"); err != nil {
		t.Log("skipped: no npm to fetch an independent reader with")
		return
	}
	if out, err := exec.CommandContext(ctx, "npm", "install", "--no-save", "--ignore-scripts", "--prefix", dir, "hyparquet@1.33.0").CombinedOutput(); err != nil {
		t.Logf("skipped: an independent reader could not be fetched: %s", bytes.TrimSpace(out))
		return
	}
	script := filepath.Join(dir, "read.mjs")
	err := os.WriteFile(script, []byte(`import { readFile } from "node:fs/promises";
import { parquetReadObjects } from "hyparquet";
const rows = async (p) => { const b = await readFile(p); return parquetReadObjects({ file: b.buffer.slice(b.byteOffset, b.byteOffset + b.byteLength) }); };
const t = await rows(process.argv[2]), s = await rows(process.argv[3]);
console.log(JSON.stringify({ n: t.length, first: t[0].seconds, target: t[0].target, none: t.filter((r) => r.trap_speed_mps === null || r.trap_speed_mps === undefined).length, points: s.length, v: s.reduce((a, r) => a + r.v_mps, 0) }));
`), 0o644)
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(ctx, "node", script, times, traces).Output()
	if err != nil {
		t.Fatalf("independent reader: %v %s", err, out)
	}
	var got struct {
		N      int
		First  float64
		Target string
		None   int
		Points int
		V      float64
	}
	if err := json.Unmarshal(bytes.TrimSpace(out), &got); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	n, none, points, v := 0, 0, 0, 0.0
	for _, r := range res.Runs {
		for _, tm := range append(r.Times, r.Pulls...) {
			n++
			if math.IsNaN(tm.TrapSpeed) {
				none++
			}
		}
		points += r.Trace.Len()
		for _, x := range r.Trace.V {
			v += x
		}
	}
	if first := res.Runs[0].Times[0]; got.N != n || got.None != none || got.Points != points || got.First != first.Seconds || got.Target != first.Name || math.Abs(got.V-v) > 1e-6*v {
		t.Errorf("independent reader: %+v; want %d times, %d without trap, %d points, %v %q, %v", got, n, none, points, first.Seconds, first.Name, v)
	}
}

// TestFirstEditionSetsOpen reads the data sets of the first edition into the rows
// of this one.
func TestFirstEditionSetsOpen(t *testing.T) {
	at := func(set string) string {
		return filepath.Join("..", "..", "fixtures", "first-edition", "sets", set, "session=season", "part-0.parquet")
	}
	runs, err := parquet.ReadFile[runRow](at("runs"))
	if err != nil || len(runs) != 13 {
		t.Fatalf("%d runs, %v; want 13", len(runs), err)
	}
	for _, r := range runs {
		if r.Run == "" || r.Mode == "" || r.Launch == nil {
			t.Errorf("run %+v lacks its name, mode or launch", r)
		}
	}
	times, err := parquet.ReadFile[timeRow](at("times"))
	if err != nil || len(times) < 13*20 {
		t.Fatalf("%d times, %v", len(times), err)
	}
	traces, err := parquet.ReadFile[traceRow](at("traces"))
	if err != nil || len(traces) < 10000 {
		t.Fatalf("%d points of traces, %v", len(traces), err)
	}
}
