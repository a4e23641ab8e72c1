package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/cache"
	"fromrest/pkg/diag"
	"fromrest/pkg/format"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
)

// onLogs reads the command's logs, runs the pipeline on them and hands the result to
// answer, which writes it. Its error is the exit status of the command. more may
// want further options.
func onLogs(c *cli.Context, more func(*session.Options), answer func(*session.Result, *work) error) error {
	res, s, err := analyse(c, more)
	if err != nil {
		return err
	}
	defer func() { _ = res.Close() }() // it holds nothing that lasts
	if err := answer(res, s); err != nil {
		return err
	}
	if len(s.undone) == 0 { // else one line says that, and what is there is a part
		noteLeft(c, res)
	}
	return outcome(c, s, res)
}

// noteLeft says in one line on standard error what of the logs is not in the answer:
// records that were dropped, runs that do not count, and that there was no run at all.
func noteLeft(c *cli.Context, res *session.Result) {
	if c.Bool("quiet") || c.Command.Name == "check" {
		return
	}
	records, damaged, left := 0, 0, 0
	for _, l := range res.Logs {
		if l.Problems == nil {
			continue
		}
		if n := l.Problems.Count(diag.Dropped); n > 0 {
			records, damaged = records+n, damaged+1
		}
	}
	for _, r := range res.StandingStarts() {
		if !r.Counted {
			left++
		}
	}
	var parts []string
	if records > 0 {
		parts = append(parts, fmt.Sprintf("dropped %s of %s; fromrest check says which", counted(records, "record"), counted(damaged, "log")))
	}
	if left > 0 {
		parts = append(parts, fmt.Sprintf("left out %d of %s", left, counted(len(res.StandingStarts()), "run")))
	}
	if len(parts) > 0 {
		fmt.Fprintln(c.App.ErrWriter, "fromrest: "+strings.Join(parts, "; "))
	}
}

// counted is a number of things.
func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// analyse is the first half of onLogs, with a progress bar on a terminal. What
// failed is printed; outcome gives the exit status once the results are out.
func analyse(c *cli.Context, more func(*session.Options)) (*session.Result, *work, error) {
	s, err := readArgs(c)
	if err != nil {
		return nil, nil, err
	}
	if more != nil {
		more(&s.opts)
	}
	if c.Command.Name == "report" && len(s.inputs) > report.JudgedMost {
		s.opts.Judge = false
	}
	for _, in := range s.inputs {
		if fi, err := os.Stat(in.Path); err == nil {
			s.opts.Total += fi.Size()
		}
	}
	bar := newProgress(c, len(s.inputs))
	s.opts.Progress, s.opts.Finished = bar.update, bar.finished
	tidy := openMemory(c, &s.opts)
	res, err := session.Run(c.Context, s.inputs, s.opts)
	bar.done()
	tidy()
	if err != nil && (res == nil || len(res.Logs) == 0) {
		return nil, nil, err // also where it was interrupted before anything was done
	}
	s.undone = res.Undone
	for _, f := range res.Failed {
		complain(c, failure(f))
	}
	s.failed += len(res.Failed)
	// A log remembered from an earlier call was not joined anew.
	joined := func(l *session.Log) bool { return l.Quality.Accel != "" }
	if w := s.opts.With; w != nil && w.Joined() == 0 && !slices.ContainsFunc(res.Logs, joined) {
		complain(c, fmt.Errorf("%s: goes with none of the logs: %s", w.Name(), w.Why()))
	}
	if err := res.SheetError; err != nil {
		if len(s.undone) > 0 {
			err = fmt.Errorf("interrupted, and the sheet does not fit what was done: %w", err)
		}
		return nil, nil, err
	}
	if err := res.Only(s.only...); err != nil {
		return nil, nil, &exitError{exitFailed, "--only " + err.Error()}
	}
	return res, s, nil
}

// failure is why an input gave nothing, its file named once.
func failure(f *session.InputError) error {
	if strings.HasPrefix(f.Err.Error(), f.Path+": ") {
		return f.Err
	}
	return f
}

// outcome is the exit status of a command whose results have been written.
func outcome(c *cli.Context, s *work, res *session.Result) error {
	if n := len(s.undone); n > 0 {
		return &exitError{exitInterrupted, fmt.Sprintf("interrupted: %d of %d logs are done; not done: %s", len(s.inputs)-n, len(s.inputs), some(s.undone))}
	}
	if s.failed > 0 {
		return &exitError{code: exitFailed}
	}
	if !c.Bool("strict") {
		return nil
	}
	for _, l := range res.Logs {
		if l.Problems == nil {
			continue
		}
		if n := l.Problems.Count(diag.Dropped); n > 0 {
			return &exitError{exitStrict, fmt.Sprintf("%s: %d records were dropped and --strict was given", l.Path, n)}
		}
	}
	return nil
}

// some lists the first few of many names.
func some(names []string) string {
	const few = 8
	if n := len(names) - few; n > 1 {
		return strings.Join(names[:few], ", ") + fmt.Sprintf(" and %d more", n)
	}
	return strings.Join(names, ", ")
}

// notePassed says which files of folders were passed over, apart from documents
// that nobody takes for a log.
func notePassed(c *cli.Context, passed []format.Passed) {
	if c.Bool("quiet") {
		return
	}
	var whys []string
	by := map[string][]string{}
	for _, p := range passed {
		if p.Document {
			continue
		}
		if by[p.Why] == nil {
			whys = append(whys, p.Why)
		}
		by[p.Why] = append(by[p.Why], p.Path)
	}
	for _, why := range whys {
		fmt.Fprintf(c.App.ErrWriter, "fromrest: passed over, %s: %s\n", why, some(by[why]))
	}
}

// timesOnly asks for results without traces, for commands that draw nothing.
func timesOnly(o *session.Options) { o.NoTraces = true }

// judged asks for what each log is worth, which costs a second or two.
func judged(o *session.Options) { o.Judge = true }

// openMemory lets the analysis use and keep what finished logs gave, unless
// --no-memory was given. Without a folder for it everything is worked out anew.
// The function returned ends it.
func openMemory(c *cli.Context, o *session.Options) func() {
	none := func() {}
	if c.Bool("no-memory") {
		return none
	}
	dir, err := cache.Folder()
	if o.Build = buildIdentity(); o.Build == "" || err != nil {
		return none
	}
	f, err := cache.OpenDisk(dir)
	if err != nil {
		return none
	}
	o.Memory = f
	return func() { _ = f.Close() } // what could not be tidied is tidied the next time
}

// buildIdentity tells this build from every other, so that no build believes what
// another remembered: from a clean checkout the revision with everything it was
// built with, else the hash of the program itself. "" where neither is known.
var buildIdentity = sync.OnceValue(func() string {
	if bi, ok := debug.ReadBuildInfo(); ok {
		set := map[string]string{}
		for _, s := range bi.Settings {
			set[s.Key] = s.Value
		}
		if set["vcs.revision"] != "" && set["vcs.modified"] == "false" {
			sum := sha256.Sum256([]byte(bi.String()))
			return hex.EncodeToString(sum[:])
		}
	}
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	if runtime.GOOS == "linux" {
		path = "/proc/self/exe" // the program that runs, even where its file was replaced
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer func() { _ = f.Close() }() // only read
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return ""
	}
	return hex.EncodeToString(h.Sum(nil))
})
