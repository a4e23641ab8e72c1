package session

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"fromrest/pkg/cache"
	"fromrest/pkg/format"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// notebook is a Memory that counts.
type notebook struct {
	mu           sync.Mutex
	kept         map[string][]byte
	hits, writes int
}

func (n *notebook) Recall(key string) ([]byte, bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	b, ok := n.kept[key]
	if ok {
		n.hits++
	}
	return b, ok
}

func (n *notebook) Remember(key string, body []byte) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.kept == nil {
		n.kept = map[string][]byte{}
	}
	n.kept[key] = body
	n.writes++
}

// season writes the demonstration, a log that is damaged and one that is none.
func season(t *testing.T) []Input {
	t.Helper()
	dir := t.TempDir()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	var in []Input
	in = append(in, Input{Path: filepath.Join(dir, logs[3].Name), Mode: logs[3].Mode}) // FIT with an accelerometer
	b := mustRead(t, filepath.Join(dir, logs[2].Name))
	for i := 500; i < len(b); i += 5000 {
		b[i] ^= 0xff
	}
	for name, data := range map[string][]byte{"damaged.nmea": b, "none.nmea": []byte("$GPGSV,1,1,02,01,40,083,46,02,17,308,41*7D\r\n")} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return append(in, Input{Path: filepath.Join(dir, "damaged.nmea")}, Input{Path: filepath.Join(dir, "none.nmea")})
}

// short is one standing start.
func short(t *testing.T) []Input {
	t.Helper()
	tr, err := synth.SimulateRun(rand.New(rand.NewPCG(7, 8)), synth.Electric(), synth.Road{}, synth.Variation{})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	rx := synth.Receiver{Noise: 0.05, PositionNoise: 1}
	if err := synth.WriteNMEA(&b, synth.Single(tr, 40, 8).Recording(rx, nil, 3), synth.NMEAOptions{}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "short.nmea")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return []Input{{Path: path, Mode: "calm"}}
}

// bits is a result with every bit of it.
func bits(t *testing.T, res *Result) string {
	t.Helper()
	var out strings.Builder
	for _, l := range res.Logs {
		b, err := cache.Encode(l)
		if err != nil {
			t.Fatal(err)
		}
		out.Write(b)
	}
	for _, r := range res.Runs {
		c := *r
		out.WriteString(c.Log.Path)
		b, err := cache.Encode(&c)
		if err != nil {
			t.Fatal(err)
		}
		out.Write(b)
	}
	for _, f := range res.Failed {
		out.WriteString(f.Error() + "\n")
	}
	return out.String() + strings.Join(res.Warnings, "\n")
}

func mustRun(t *testing.T, in []Input, o Options) *Result {
	t.Helper()
	res, err := Run(context.Background(), in, o)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func TestRememberedResultsAreTheSameBitForBit(t *testing.T) {
	in := season(t)
	base := Options{Judge: true, All: true, Build: "b1"}
	want := mustRun(t, in, base)
	if len(want.Logs) != 2 || len(want.Failed) != 1 || len(want.Runs) < 4 {
		t.Fatalf("%d logs, %d runs, failed %v", len(want.Logs), len(want.Runs), want.Failed)
	}
	book := &notebook{}
	o := base
	o.Memory = book
	if bits(t, mustRun(t, in, o)) != bits(t, want) {
		t.Error("a first call with memory differs from one without")
	}
	writes := book.writes
	got := mustRun(t, in, o)
	if bits(t, got) != bits(t, want) {
		t.Error("a recalled result differs")
	}
	if book.writes != writes || book.hits != 2*3+1 {
		t.Errorf("the second call recalled %d parts and wrote %d", book.hits, book.writes-writes)
	}
	for i, l := range got.Logs {
		a, b := *l, *want.Logs[i]
		if j, k := a.Worth(), b.Worth(); !reflect.DeepEqual(j, k) {
			t.Errorf("%s is worth %+v, want %+v", l.Path, j, k)
		}
		a.Worth, b.Worth = nil, nil
		if !reflect.DeepEqual(a, b) {
			t.Errorf("%s: %+v\nwant %+v", l.Path, a, b)
		}
	}
	// Another name and mode for the same bytes.
	b, err := os.ReadFile(in[0].Path)
	if err != nil {
		t.Fatal(err)
	}
	other := []Input{{Path: filepath.Join(t.TempDir(), "other.log"), Mode: "eco"}}
	if err := os.WriteFile(other[0].Path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	if bits(t, mustRun(t, other, o)) != bits(t, mustRun(t, other, base)) || book.writes != writes {
		t.Errorf("the same bytes by another name: %d new parts, or another result", book.writes-writes)
	}
	// Without traces, the same times.
	o.NoTraces = true
	slim := mustRun(t, in, o)
	for i, r := range slim.Runs {
		if r.Trace.Len() > 0 || r.RawT != nil || !reflect.DeepEqual(r.Times, want.Runs[i].Times) && !hasNaN(r.Times) {
			t.Errorf("%s: a trace of %d points, times %v", r.ID, r.Trace.Len(), r.Times)
		}
	}
	if book.writes != writes {
		t.Error("a call without traces worked them out again")
	}
}

// Of a log with very many runs the columns are neither kept nor remembered where nobody wants
// them: the next call that does must get them all the same.
func TestManyRunsLeaveTheirColumns(t *testing.T) {
	defer func(n int) { mostRemembered = n }(mostRemembered)
	mostRemembered = 0
	in, book := short(t), &notebook{}
	want := mustRun(t, in, Options{})
	slim := mustRun(t, in, Options{Memory: book, NoTraces: true})
	for key := range book.kept {
		if strings.HasSuffix(key, partColumns) {
			t.Error("columns are remembered that nobody wanted")
		}
	}
	if len(slim.Runs) != 1 || slim.Runs[0].Trace.Len() > 0 || bits(t, mustRun(t, in, Options{NoTraces: true})) != bits(t, slim) {
		t.Errorf("%d runs, or another result without memory", len(slim.Runs))
	}
	if got := mustRun(t, in, Options{Memory: book}); bits(t, got) != bits(t, want) {
		t.Error("a call that wants the traces gets another result")
	}
}

func hasNaN(ts []timing.Time) bool {
	for _, t := range ts {
		if math.IsNaN(t.TrapSpeed) {
			return true
		}
	}
	return false
}

// Whatever shapes a result is in its key, and damaged entries are worked out anew.
func TestNothingElseIsRecalled(t *testing.T) {
	in := short(t)
	book := &notebook{}
	base := Options{Memory: book, Build: "b1"}
	mustRun(t, in, base)
	columns := filepath.Join(t.TempDir(), "box.toml")
	write := func(s string) {
		if err := os.WriteFile(columns, []byte(s), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("header = 1\n")
	target, err := timing.ParseTarget("0-45 mph")
	if err != nil {
		t.Fatal(err)
	}
	bound, err := recording.ParseBound("30", nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*Options){
		"build":   func(o *Options) { o.Build = "b2" },
		"units":   func(o *Options) { o.Units = "kmh" },
		"targets": func(o *Options) { o.Targets = []timing.Target{target} },
		"all":     func(o *Options) { o.All = true },
		"judge":   func(o *Options) { o.Judge = true },
		"columns": func(o *Options) { o.Columns = columns; write("header = 1\n") },
		"mapping": func(o *Options) { o.Columns = columns; write("header = 2\n") },
		"from":    func(o *Options) { o.Part.Span.From = bound },
		"to":      func(o *Options) { o.Part.Span.To = recording.Bound{Kind: recording.SinceStart, After: 1e12} },
		"only":    func(o *Options) { o.Part.Tracks = []string{"gnss"} },
		"none":    func(*Options) {},
	} {
		o := base
		change(&o)
		writes := book.writes
		mustRun(t, in, o)
		if again := book.writes > writes; again != (name != "none") {
			t.Errorf("%s changed: worked out anew %v", name, again)
		}
	}
	want := bits(t, mustRun(t, in, Options{Build: "b1"}))
	for key, body := range book.kept {
		for _, bad := range [][]byte{body[:len(body)/2], append(bytes.Clone(body), 0)} {
			book.kept[key] = bad
			if got := bits(t, mustRun(t, in, base)); got != want {
				t.Fatalf("entry %q damaged: another result", key)
			}
		}
	}
	// A log that changed.
	if err := os.WriteFile(in[0].Path, append(mustRead(t, in[0].Path), "\r\n"...), 0o644); err != nil {
		t.Fatal(err)
	}
	writes := book.writes
	if mustRun(t, in, base); book.writes == writes {
		t.Error("a changed log was not read again")
	}
}

func mustRead(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A field that is added to the options needs a decision, here and in its tag.
func TestEveryOptionIsInTheKeyOrSaysNo(t *testing.T) {
	change := map[string]func(*Options){
		"Units":     func(o *Options) { o.Units = "kmh" },
		"Targets":   func(o *Options) { o.Targets = []timing.Target{{Name: "own", To: 20}} },
		"All":       func(o *Options) { o.All = true },
		"Columns":   func(o *Options) { o.Columns = "time=1" },
		"SpeedUnit": func(o *Options) { o.SpeedUnit = "mph" },
		"With":      func(o *Options) { o.With = &format.Companion{Several: true} },
		"Part":      func(o *Options) { o.Part.Tracks = []string{"accel"} },
		"Build":     func(o *Options) { o.Build = "another" },
		"Receiver":  func(o *Options) { o.Receiver.Filter = "none" },
		// What does not shape what is found in a log.
		"Version":   func(o *Options) { o.Version = "9" },
		"Judge":     func(o *Options) { o.Judge = true },
		"Progress":  func(o *Options) { o.Progress = func(int64, int64) {} },
		"Total":     func(o *Options) { o.Total = 5 },
		"Sheet":     func(o *Options) { o.Sheet = &sheet.Sheet{} },
		"Compare":   func(o *Options) { o.Compare.Smallest = 1 },
		"Finished":  func(o *Options) { o.Finished = func(int) {} },
		"NoTraces":  func(o *Options) { o.NoTraces = true },
		"Shelve":    func(o *Options) { o.Shelve = true },
		"Positions": func(o *Options) { o.Positions = true },
		"Zone":      func(o *Options) { o.Zone = time.Local },
		"At":        func(o *Options) { o.At = timing.Metric() },
		"Rows":      func(o *Options) { o.Rows = RowsAll },
		"Memory":    func(o *Options) { o.Memory = &notebook{} },
	}
	keyOf := func(o Options) string {
		p := &pipeline{opts: o, targets: targets(o.Targets)}
		return p.key()
	}
	plain := keyOf(Options{})
	if plain != keyOf(Options{}) {
		t.Error("the same options have two keys")
	}
	seen := map[string]string{plain: "no field"}
	for _, f := range reflect.VisibleFields(reflect.TypeFor[Options]()) {
		set := change[f.Name]
		if set == nil {
			t.Errorf("Options.%s: no decision whether it shapes what is found in a log", f.Name)
			continue
		}
		o := Options{}
		set(&o)
		key := keyOf(o)
		switch f.Tag.Get(shapes) {
		case "yes":
			if other := seen[key]; other != "" {
				t.Errorf("Options.%s has the key of %s", f.Name, other)
			}
			seen[key] = "Options." + f.Name
		case "no":
			if key != plain {
				t.Errorf("Options.%s changes the key", f.Name)
			}
		default:
			t.Errorf("Options.%s: its tag does not say whether it shapes what is found in a log", f.Name)
		}
	}
}

// xor is the checksum of an NMEA sentence.
func xor(body string) (sum byte) {
	for i := range len(body) {
		sum ^= body[i]
	}
	return sum
}

// An interrupt leaves what was done in order and names the rest.
func TestInterruptedRunKeepsWhatIsDone(t *testing.T) {
	in := short(t)
	data := mustRead(t, in[0].Path)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var many []Input
	for i := range 12 {
		many = append(many, Input{Path: string(rune('a'+i)) + ".nmea", Open: func() (io.ReadCloser, error) {
			if i == 6 {
				cancel()
			}
			// Sentences that say nothing, so that no log is a copy of another.
			return io.NopCloser(io.MultiReader(strings.NewReader(fmt.Sprintf("$PNOTE,%d*%02X\r\n", i, xor(fmt.Sprintf("PNOTE,%d", i)))), bytes.NewReader(data))), nil
		}})
	}
	last := 0
	res, err := Run(ctx, many, Options{Finished: func(n int) { last = n }})
	if !errors.Is(err, context.Canceled) || len(res.Failed) > 0 || len(res.Logs) == 0 || len(res.Logs)+len(res.Undone) != 12 || last != 12 {
		t.Fatalf("%v: %d logs, undone %v, failed %v, told of %d", err, len(res.Logs), res.Undone, res.Failed, last)
	}
	for i, l := range res.Logs {
		if i > 0 && l.Path <= res.Logs[i-1].Path || len(l.Problems.Groups()) > 5 {
			t.Errorf("log %d is %s", i, l.Path)
		}
	}
	if !slices.ContainsFunc(res.Warnings, func(w string) bool { return strings.HasPrefix(w, "Interrupted: ") }) {
		t.Errorf("warnings %v", res.Warnings)
	}
}
