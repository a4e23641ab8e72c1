package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/renameio/v2/maybe"
	"github.com/mattn/go-isatty"
	"github.com/urfave/cli/v2"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
)

// forms are the formats that a command writes its answer in, the usual one first.
type forms[T any] []form[T]

type form[T any] struct {
	name  string
	write func(io.Writer, T) error // nil for one that the command writes by itself
}

// flag is --format; usage says what it is the format of.
func (fs forms[T]) flag(usage string) cli.Flag {
	return choice("format", fs[0].name, usage+": "+anyOf(fs.names()), fs.names()...)
}

// chosen is the form that --format names.
func (fs forms[T]) chosen(c *cli.Context) (form[T], error) {
	name, err := chosen(c, "format")
	if err != nil {
		return form[T]{}, err
	}
	return fs[slices.Index(fs.names(), name)], nil
}

// action is that of a command with the form that --format names.
func (fs forms[T]) action(run func(*cli.Context, form[T]) error) cli.ActionFunc {
	return func(c *cli.Context) error {
		f, err := fs.chosen(c)
		if err != nil {
			return err
		}
		return run(c, f)
	}
}

func (fs forms[T]) names() []string {
	var names []string
	for _, f := range fs {
		names = append(names, f.name)
	}
	return names
}

// anyOf lists words to choose from.
func anyOf(words []string) string {
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// choiceFlag is a flag that chooses among words.
type choiceFlag struct {
	*cli.StringFlag
	words []string
}

// choice is a flag that chooses among words; its usual value need not be one of them.
func choice(name, value, usage string, words ...string) cli.Flag {
	return &choiceFlag{&cli.StringFlag{Name: name, Value: value, Usage: usage}, words}
}

// chosen is the word that a flag made by choice has, "" only where it was not given.
func chosen(c *cli.Context, name string) (string, error) {
	v := c.String(name)
	i := slices.IndexFunc(c.Command.Flags, func(f cli.Flag) bool { return slices.Contains(f.Names(), name) })
	if words := c.Command.Flags[i].(*choiceFlag).words; (v != "" || c.IsSet(name)) && !slices.Contains(words, v) {
		return "", usagef("--%s %q: want %s%s", name, v, anyOf(words), meant(v, words))
	}
	return v, nil
}

// complain prints an error in one line without ending the command.
func complain(c *cli.Context, err error) {
	text := strings.Join(strings.Fields(err.Error()), " ")
	fmt.Fprintln(c.App.ErrWriter, "fromrest: "+text)
}

// outputFlag is -o.
func outputFlag(usage string) cli.Flag {
	return &cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: usage}
}

// emit writes an answer into the file that -o names, or to the terminal. Nothing is
// written of one that could not be made whole.
func emit(c *cli.Context, write func(io.Writer) error) error {
	var b bytes.Buffer
	out := c.String("output")
	to := screen{Writer: &b}
	if s, ok := c.App.Writer.(*screen); ok && out == "" {
		to.columns = s.columns
	}
	if err := write(&to); err != nil {
		return err
	}
	if out != "" {
		return writeFile(c, out, b.Bytes())
	}
	_, err := c.App.Writer.Write(b.Bytes())
	return err
}

// screen is a writer that knows how wide the terminal is which will show what is written.
type screen struct {
	io.Writer
	columns int // 0 for what is no terminal
}

// Columns is the width in columns, see document.Text.
func (s *screen) Columns() int { return s.columns }

// columns is how wide a terminal is, 0 for what is none.
func columns(w io.Writer) int {
	f, ok := w.(*os.File)
	if !ok {
		return 0
	}
	n, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		return 0
	}
	return n
}

// csvFlags say how CSV is written.
func csvFlags() []cli.Flag {
	return []cli.Flag{
		choice("decimal", "point", "write numbers in CSV with a `SIGN`: point or comma", "point", "comma"),
		&cli.StringFlag{Name: "delimiter", Usage: "`CHARACTER` between the fields of CSV; a comma if not given, with --decimal comma a semicolon"},
	}
}

// csvStyle turns csvFlags into a style.
func csvStyle(c *cli.Context) (document.CSVStyle, error) {
	sign, err := chosen(c, "decimal")
	if err != nil {
		return document.CSVStyle{}, err
	}
	style := document.CSVStyle{Comma: sign == "comma"}
	text := c.String("delimiter")
	if text == "" && style.Comma {
		text = ";"
	}
	switch r := []rune(strings.ReplaceAll(text, `\t`, "\t")); {
	case len(r) > 1 || len(r) == 1 && strings.ContainsRune("\"\r\n\uFFFD.", r[0]):
		return style, usagef("--delimiter %q: want one character, such as ';' or '\\t'", text)
	case len(r) == 1 && r[0] == ',' && style.Comma:
		return style, usagef("--decimal comma and --delimiter ',' exclude each other")
	case len(r) == 1:
		style.Delimiter = r[0]
	}
	return style, nil
}

// pictureFlags are those of a command that draws into a file.
func pictureFlags() []cli.Flag {
	return []cli.Flag{
		&cli.BoolFlag{Name: "dark", Usage: "draw a png light on dark"},
		&cli.IntFlag{Name: "scale", Value: 2, Usage: "draw a png with `N` times 96 dots an inch"},
	}
}

// figureName checks that a file's ending names a format figures are written in.
func figureName(path string) error {
	switch end := strings.ToLower(filepath.Ext(path)); {
	case path == "":
		return usagef("no file to draw into: give -o FILE, ending in .svg, .png or .pdf")
	case !slices.Contains([]string{".svg", ".png", ".pdf"}, end):
		return usagef("-o %q: want a name ending in .svg, .png or .pdf", path)
	}
	return nil
}

// writeFigure writes a figure in the format of the file's ending.
func writeFigure(c *cli.Context, f *figure.Figure, path string) error {
	theme := figure.Light()
	if c.Bool("dark") {
		theme = figure.Dark()
	}
	data, err := picture(f, path, theme, float64(c.Int("scale")))
	if err != nil {
		return err
	}
	return writeFile(c, path, data)
}

// picture is a figure in the format of a file's ending; theme and scale are those of a
// png.
func picture(f *figure.Figure, path string, theme *figure.Theme, scale float64) ([]byte, error) {
	f.MadeBy = madeBy()
	switch strings.ToLower(filepath.Ext(path)) {
	case ".png":
		return f.PNG(theme, scale)
	case ".pdf":
		return f.PDF()
	}
	return f.SVG(), nil
}

// writeWhole writes a file whole or leaves what was there: a full disk costs no report
// that was good. What is no regular file, such as a pipe, is written into.
func writeWhole(path string, data []byte) error {
	if fi, err := os.Stat(path); err == nil && !fi.Mode().IsRegular() {
		return os.WriteFile(path, data, 0o644)
	}
	return maybe.WriteFile(path, data, 0o644)
}

// writeFile writes a result and says on standard error that it did.
func writeFile(c *cli.Context, path string, data []byte) error {
	if err := writeWhole(path, data); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, "wrote "+path)
	return nil
}

const (
	// progressAfter is how long work goes on before a bar appears on a terminal.
	progressAfter = time.Second
	// plainEvery is how often a line is written where there is no terminal.
	plainEvery = 10 * time.Second
)

// progress is a bar on a terminal for work of more than a second, and a plain
// line now and then elsewhere for work on many logs. With --quiet it is nothing.
type progress struct {
	mu    sync.Mutex
	w     io.Writer // nil: nothing is shown
	term  bool
	logs  int // how many in all
	doing string
	since time.Time
	said  time.Time // the last plain line
	all   *mpb.Progress
	bar   *mpb.Bar
}

func newProgress(c *cli.Context, logs int) *progress {
	p := &progress{logs: logs, doing: "reading ", since: time.Now()}
	if c.Bool("quiet") {
		return p
	}
	p.w, p.said = c.App.ErrWriter, p.since
	f, ok := p.w.(*os.File)
	p.term = ok && isatty.IsTerminal(f.Fd())
	return p
}

// update is told how many bytes of how many have been read. It is what a single
// log shows; of many the finished ones count, because reading is not all.
func (p *progress) update(done, total int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.w == nil || !p.term || p.logs > 1 || time.Since(p.since) < progressAfter {
		return
	}
	p.show(done, total, decor.CountersKibiByte("% .0f / % .0f"))
}

// finished is told how many logs are done.
func (p *progress) finished(done int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.w == nil || p.logs < 2 || done == p.logs && p.bar == nil:
	case p.term:
		if time.Since(p.since) >= progressAfter {
			p.show(int64(done), int64(p.logs), decor.CountersNoUnit("%d of %d logs"))
		}
	case time.Since(p.said) >= plainEvery:
		p.said = time.Now()
		fmt.Fprintf(p.w, "fromrest: %d of %d logs done, %s left\n", done, p.logs, p.left(int64(done), int64(p.logs)))
	}
}

// simulated is told how many numbers of runs of a plan are simulated.
func (p *progress) simulated(done, all int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.doing = "simulating "; p.w != nil && p.term && time.Since(p.since) >= progressAfter {
		p.show(int64(done), int64(all), decor.CountersNoUnit("%d of %d"))
	}
}

// show draws the bar.
func (p *progress) show(done, total int64, counters decor.Decorator) {
	if p.bar == nil {
		p.all = mpb.New(mpb.WithOutput(p.w), mpb.WithWidth(40))
		p.bar = p.all.AddBar(total,
			mpb.PrependDecorators(decor.Name(p.doing), counters),
			mpb.AppendDecorators(decor.Percentage(), decor.Any(func(s decor.Statistics) string {
				return "  " + p.left(s.Current, s.Total) + " left"
			})),
			mpb.BarRemoveOnComplete())
	}
	p.bar.SetTotal(total, false)
	p.bar.SetCurrent(done)
}

// left estimates how long the rest takes, from how long it took so far.
func (p *progress) left(done, total int64) string {
	if done <= 0 || total <= done {
		return "about 0 s"
	}
	took := time.Since(p.since).Seconds()
	rest := took / float64(done) * float64(total-done)
	switch {
	case rest < 90:
		return fmt.Sprintf("about %.0f s", rest)
	case rest < 5400:
		return fmt.Sprintf("about %.0f min", rest/60)
	}
	return fmt.Sprintf("about %.1f h", rest/3600)
}

// done takes the bar off the terminal.
func (p *progress) done() {
	p.mu.Lock()
	bar := p.bar
	p.bar, p.w = nil, nil
	p.mu.Unlock()
	if bar == nil {
		return
	}
	bar.Abort(true)
	p.all.Wait()
}
