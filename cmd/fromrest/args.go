package main

import (
	"strings"

	"github.com/urfave/cli/v2"
)

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
		c := find(cmds, args[at])
		if c == nil && len(cmds) == len(app.Commands) {
			return args // no such command, which is what has to be said
		}
		if c == nil {
			break
		}
		flags, cmds = c.Flags, c.Subcommands
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

func find(cmds []*cli.Command, name string) *cli.Command {
	for _, c := range cmds {
		if c.HasName(name) {
			return c
		}
	}
	return nil
}
