package main

import (
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"
)

func completionCommand() *cli.Command {
	return &cli.Command{
		Name:      "completion",
		Usage:     "print a script that completes commands and options in a shell",
		ArgsUsage: "bash|zsh|fish",
		UsageText: `fromrest completion bash|zsh|fish

Example: in ~/.bashrc
   source <(fromrest completion bash)

Example: for fish
   fromrest completion fish > ~/.config/fish/completions/fromrest.fish`,
		Action: func(c *cli.Context) error {
			scripts := map[string]func(*cli.App) string{"bash": bashCompletion, "zsh": zshCompletion, "fish": fishCompletion}
			f := scripts[c.Args().First()]
			if f == nil || c.NArg() != 1 {
				return usagef("completion: want one of bash, zsh, fish")
			}
			_, err := fmt.Fprint(c.App.Writer, f(c.App))
			return err
		},
	}
}

// words lists a command's options as typed.
func words(c *cli.Command) []string {
	var out []string
	for _, f := range c.VisibleFlags() {
		for _, n := range f.Names() {
			if len(n) == 1 {
				out = append(out, "-"+n)
			} else {
				out = append(out, "--"+n)
			}
		}
	}
	return out
}

func commandNames(app *cli.App) string {
	var out []string
	for _, c := range app.VisibleCommands() {
		out = append(out, c.Name)
	}
	return strings.Join(out, " ")
}

func bashCompletion(app *cli.App) string {
	var b strings.Builder
	b.WriteString("_fromrest() {\n  local cur=\"${COMP_WORDS[COMP_CWORD]}\" words=\"\"\n  case \"${COMP_WORDS[1]}\" in\n")
	for _, c := range app.VisibleCommands() {
		fmt.Fprintf(&b, "    %s) words=\"%s\" ;;\n", c.Name, strings.Join(words(c), " "))
	}
	b.WriteString("  esac\n  if [ \"$COMP_CWORD\" -eq 1 ]; then\n")
	fmt.Fprintf(&b, "    words=\"%s --help --version\"\n", commandNames(app))
	b.WriteString("  elif [ \"${cur#-}\" = \"$cur\" ]; then\n    words=\"\"\n  fi\n")
	b.WriteString("  COMPREPLY=($(compgen -W \"$words\" -- \"$cur\"))\n}\ncomplete -o default -F _fromrest fromrest\n")
	return b.String()
}

func zshCompletion(app *cli.App) string {
	var b strings.Builder
	b.WriteString("#compdef fromrest\n_fromrest() {\n  if (( CURRENT == 2 )); then\n    local -a commands\n    commands=(\n")
	for _, c := range app.VisibleCommands() {
		fmt.Fprintf(&b, "      '%s:%s'\n", c.Name, strings.ReplaceAll(c.Usage, "'", "'\\''"))
	}
	b.WriteString("    )\n    _describe 'command' commands\n    return\n  fi\n  if [[ $PREFIX == -* ]]; then\n    case $words[2] in\n")
	for _, c := range app.VisibleCommands() {
		fmt.Fprintf(&b, "      %s) compadd -- %s ;;\n", c.Name, strings.Join(words(c), " "))
	}
	b.WriteString("    esac\n  else\n    _files\n  fi\n}\ncompdef _fromrest fromrest\n")
	return b.String()
}

func fishCompletion(app *cli.App) string {
	var b strings.Builder
	quote := func(s string) string {
		return "'" + strings.ReplaceAll(strings.ReplaceAll(s, `\`, `\\`), "'", `\'`) + "'"
	}
	for _, c := range app.VisibleCommands() {
		fmt.Fprintf(&b, "complete -c fromrest -n __fish_use_subcommand -f -a %s -d %s\n", c.Name, quote(c.Usage))
		for _, f := range c.VisibleFlags() {
			d, ok := f.(cli.DocGenerationFlag)
			if !ok {
				continue
			}
			fmt.Fprintf(&b, "complete -c fromrest -n '__fish_seen_subcommand_from %s'", c.Name)
			for _, n := range f.Names() {
				if len(n) == 1 {
					b.WriteString(" -s " + n)
				} else {
					b.WriteString(" -l " + n)
				}
			}
			if d.TakesValue() {
				b.WriteString(" -r")
			}
			b.WriteString(" -d " + quote(strings.ReplaceAll(d.GetUsage(), "`", "")) + "\n")
		}
	}
	return b.String()
}
