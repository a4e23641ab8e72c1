// Command fromrest times standing starts from the log of a GNSS receiver or an
// accelerometer, each time with its uncertainty.
//
// Each file of this package is a subcommand or two that are alike (table stands
// with report): it turns flags into options and makes one call.
// inputs.go and analyse.go read the logs for all of them, output.go writes. Results
// go to standard output, all else to standard error. The exit status is 0 when all was done, 1 when something failed, 2 for a
// mistake in the command line, 3 when --strict was given and data of a log had to
// be dropped, and 130 when it was interrupted: what was done by then is printed,
// and what was not is named. A second interrupt ends it at once.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/session"
	"fromrest/pkg/tomltext"
)

// version is set by the linker (make build); without it the module's build
// information is used.
var version = ""

// commands lists the subcommands in the order of the help. A new command is a
// function in a file of its own or of its kind, and one line here.
func commands() []*cli.Command {
	return []*cli.Command{
		runsCommand(),
		checkCommand(),
		overlayCommand(),
		compareCommand(),
		historyCommand(),
		sheetCommand(),
		planCommand(),
		tableCommand(),
		reportCommand(),
		demoCommand(),
		serveCommand(),
		archiveCommand(),
		explainCommand(),
		completionCommand(),
		manCommand(),
	}
}

// The exit statuses.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2
	exitStrict = 3 // all done, but data was dropped and --strict was given
	// exitInterrupted is what shells give for Ctrl-C. What was done was printed.
	exitInterrupted = 130
)

// exitError carries an exit status. An empty text prints nothing: the cause has
// been printed already.
type exitError struct {
	code int
	text string
}

func (e *exitError) Error() string { return e.text }

// usagef is a mistake in the command line, exit status 2.
func usagef(format string, args ...any) error {
	return &exitError{exitUsage, fmt.Sprintf(format, args...)}
}

func main() {
	os.Exit(realMain())
}

// realMain runs the program on the process's own arguments and streams.
func realMain() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C is not caught
	return run(ctx, os.Args, os.Stdout, os.Stderr)
}

// run carries out one command line and returns the exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	app := newApp(stdout, stderr)
	err := app.RunContext(ctx, flagsFirst(app, args))
	if err == nil {
		return exitDone
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(stderr, "fromrest: interrupted")
		return exitInterrupted
	}
	code := exitFailed
	var ex *exitError
	var topic cli.ExitCoder // how the library says that help has no such topic
	if errors.As(err, &ex) {
		code = ex.code
	} else if errors.As(err, &topic) {
		code = exitUsage
	}
	if text := err.Error(); text != "" {
		for _, line := range strings.Split(text, "\n") {
			fmt.Fprintln(stderr, "fromrest: "+line)
		}
	}
	return code
}

// newApp builds the command tree writing to the given streams.
func newApp(stdout, stderr io.Writer) *cli.App {
	cli.VersionPrinter = func(c *cli.Context) { fmt.Fprintln(c.App.Writer, fullVersion()) }
	app := &cli.App{
		Name:           "fromrest",
		Usage:          "acceleration times from rest, each with its uncertainty",
		Description:    "Reads GNSS and accelerometer logs, finds the standing starts in them and times each\nfrom the first motion and from the 1-foot rollout.",
		Version:        buildVersion(),
		Commands:       commands(),
		Writer:         &screen{stdout, columns(stdout)},
		ErrWriter:      stderr,
		ExitErrHandler: func(*cli.Context, error) {},
		OnUsageError:   onUsageError,
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				var names []string
				for _, known := range c.App.Commands {
					names = append(names, known.Name)
				}
				return usagef("no command %q%s; fromrest --help lists them", c.Args().First(), meant(c.Args().First(), names))
			}
			return cli.ShowAppHelp(c)
		},
	}
	for _, c := range app.Commands {
		for _, sub := range append(c.Subcommands, c) {
			sub.OnUsageError = onUsageError
		}
	}
	return app
}

func onUsageError(c *cli.Context, err error, _ bool) error {
	name := "fromrest"
	if c.Command != nil && c.Command.Name != "" && c.Command.Name != name {
		name += " " + c.Command.Name
	}
	text := err.Error()
	if typed, ok := strings.CutPrefix(text, "flag provided but not defined: -"); ok && c.Command != nil {
		var flags []string
		for _, f := range c.Command.VisibleFlags() {
			flags = append(flags, "--"+f.Names()[0])
		}
		text = "no option --" + strings.TrimLeft(typed, "-") + meant("--"+strings.TrimLeft(typed, "-"), flags)
	}
	return usagef("%s; see %s --help", text, name)
}

// buildVersion is the version the program reports and writes into reports.
func buildVersion() string {
	if version != "" {
		return version
	}
	if bi, ok := debug.ReadBuildInfo(); ok && bi.Main.Version != "" && bi.Main.Version != "(devel)" {
		return bi.Main.Version
	}
	return "development"
}

// fullVersion is the version with the model, the revision it was built from, the compiler
// and the platform.
func fullVersion() string {
	parts := []string{madeBy()}
	if bi, ok := debug.ReadBuildInfo(); ok {
		set := map[string]string{}
		for _, s := range bi.Settings {
			set[s.Key] = s.Value
		}
		if r := set["vcs.revision"]; r != "" {
			if r = "revision " + r[:min(12, len(r))]; set["vcs.modified"] == "true" {
				r += " with changes"
			}
			parts = append(parts, r)
		}
	}
	return strings.Join(append(parts, runtime.Version(), runtime.GOOS+"/"+runtime.GOARCH), ", ")
}

// meant asks for the word that a mistyped one was meant for, "" where none is like it.
func meant(typed string, words []string) string {
	if w := tomltext.NearestWord(typed, words); w != "" {
		return ", did you mean " + w + "?"
	}
	return ""
}

// madeBy names this program and its model, as its outputs do.
func madeBy() string { return session.MadeBy(buildVersion(), session.ModelRevision) }

// flagsFirst moves the flags of a subcommand before its arguments, because the
// flag package stops at the first argument and people write flags last too.
// Everything after "--" stays where it is.
func flagsFirst(app *cli.App, args []string) []string {
	if len(args) < 3 {
		return args
	}
	at := 1
	for at < len(args) && strings.HasPrefix(args[at], "-") {
		at++
	}
	flags := app.Flags
	cmds := app.Commands
	for at < len(args) {
		i := slices.IndexFunc(cmds, func(c *cli.Command) bool { return c.HasName(args[at]) })
		if i < 0 && len(cmds) == len(app.Commands) {
			return args // no such command, which is what has to be said
		}
		if i < 0 {
			break
		}
		flags, cmds = cmds[i].Flags, cmds[i].Subcommands
		at++
	}
	takesValue := map[string]bool{}
	for _, f := range flags {
		if d, ok := f.(cli.DocGenerationFlag); ok {
			for _, n := range f.Names() {
				takesValue[n] = d.TakesValue()
			}
		}
	}
	head := append([]string(nil), args[:at]...)
	var rest []string
	for i := at; i < len(args); i++ {
		a := args[i]
		if a == "--" {
			rest = append(rest, args[i:]...)
			break
		}
		if len(a) < 2 || a[0] != '-' {
			rest = append(rest, a)
			continue
		}
		head = append(head, a)
		name := strings.TrimLeft(a, "-")
		if takesValue[name] && i+1 < len(args) {
			i++
			head = append(head, args[i])
		}
	}
	return append(head, rest...)
}
