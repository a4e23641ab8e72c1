package main

import (
	"io"
	"slices"
	"strings"
	"text/template"

	"github.com/urfave/cli/v2"
)

func completionCommand() *cli.Command {
	return &cli.Command{
		Name:      "completion",
		Usage:     "print a script that completes commands and options in a shell",
		ArgsUsage: "bash|zsh|fish|powershell",
		UsageText: `fromrest completion bash|zsh|fish|powershell

Example: in ~/.bashrc
   source <(fromrest completion bash)

Example: for fish
   fromrest completion fish > ~/.config/fish/completions/fromrest.fish

Example: for PowerShell, to be run from its profile
   fromrest completion powershell > fromrest.ps1`,
		Action: func(c *cli.Context) error {
			shell := c.Args().First()
			if !slices.Contains([]string{"bash", "zsh", "fish", "powershell"}, shell) || c.NArg() != 1 {
				return usagef("completion: want one of bash, zsh, fish, powershell")
			}
			return completions.ExecuteTemplate(c.App.Writer, shell, c.App)
		},
	}
}

func manCommand() *cli.Command {
	return &cli.Command{
		Name:  "man",
		Usage: "print the manual page",
		UsageText: `fromrest man

Example: to read it
   fromrest man > fromrest.1`,
		Action: func(c *cli.Context) error {
			page, err := c.App.ToManWithSection(1)
			if err != nil {
				return err
			}
			_, err = io.WriteString(c.App.Writer, page)
			return err
		},
	}
}

// completions are the scripts by shell, each made of the commands as they are. Each begins
// with what stands before the word: "runs" with its options, "runs --format" with its words.
var completions = template.Must(template.New("").Funcs(template.FuncMap{
	"known":  known,
	"zquote": func(s string) string { return strings.ReplaceAll(s, "'", `'\''`) },
	"fquote": func(s string) string {
		return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`, "`", "").Replace(s) + "'"
	},
	"choices": choices,
}).Parse(`
{{- define "bash" -}}
_fromrest() {
  local cur="${COMP_WORDS[COMP_CWORD]}" words="" at="" values=""
  [ "$COMP_CWORD" -gt 1 ] && at="${COMP_WORDS[1]}"
  [ "$at" = archive ] && [ "$COMP_CWORD" -gt 2 ] && at="$at ${COMP_WORDS[2]}"
  case "$at" in
{{range known .}}    "{{.At}}") words="{{.Words}}" ;;
{{end}}  esac
  case "$at ${COMP_WORDS[COMP_CWORD-1]}" in
{{range known .}}{{$at := .At}}{{range .Values}}    "{{$at}} {{.Flag}}") values="{{.Words}}" ;;
{{end}}{{end}}  esac
  if [ -n "$values" ]; then
    words="$values"
  elif [ -n "$at" ] && [ "$at" != archive ] && [ "${cur#-}" = "$cur" ]; then
    words=""
  fi
  COMPREPLY=($(compgen -W "$words" -- "$cur"))
}
complete -o default -F _fromrest fromrest
{{end}}
{{- define "zsh" -}}
#compdef fromrest
_fromrest() {
  if (( CURRENT == 2 )); then
    local -a commands
    commands=(
{{range .VisibleCommands}}      '{{.Name}}:{{zquote .Usage}}'
{{end}}    )
    _describe 'command' commands
    return
  fi
  local at=$words[2]
  [[ $at == archive ]] && (( CURRENT > 3 )) && at="$at $words[3]"
  case "$at $words[CURRENT-1]" in
{{range known .}}{{$at := .At}}{{range .Values}}    "{{$at}} {{.Flag}}") compadd -- {{.Words}}; return ;;
{{end}}{{end}}  esac
  if [[ $PREFIX == -* || $at == archive ]]; then
    case $at in
{{range known .}}      "{{.At}}") compadd -- {{.Words}} ;;
{{end}}    esac
  else
    _files
  fi
}
compdef _fromrest fromrest
{{end}}
{{- define "fish" -}}
{{range $c := .VisibleCommands}}complete -c fromrest -n __fish_use_subcommand -f -a {{.Name}} -d {{fquote .Usage}}
{{range .Subcommands}}complete -c fromrest -n '__fish_seen_subcommand_from {{$c.Name}}' -f -a {{.Name}} -d {{fquote .Usage}}
{{end}}{{range .VisibleFlags}}complete -c fromrest -n '__fish_seen_subcommand_from {{$c.Name}}'
{{- range .Names}}{{if eq (len .) 1}} -s {{else}} -l {{end}}{{.}}{{end}}{{if .TakesValue}} -r{{end}}{{with choices .}} -f -a '{{.}}'{{end}} -d {{fquote .GetUsage}}
{{end}}{{end}}{{end}}
{{- define "powershell" -}}
Register-ArgumentCompleter -Native -CommandName fromrest -ScriptBlock {
  param($word, $line, $cursor)
  $typed = @($line.CommandElements | ForEach-Object { $_.ToString() })
  if ($word -and $typed.Count -gt 1) { $typed = $typed[0..($typed.Count - 2)] }
  $at = if ($typed.Count -gt 1) { $typed[1] } else { '' }
  if ($at -eq 'archive' -and $typed.Count -gt 2) { $at = "$at $($typed[2])" }
  $options = @{
{{range known .}}    '{{.At}}' = '{{.Words}}'
{{end}}  }
  $values = @{
{{range known .}}{{$at := .At}}{{range .Values}}    '{{$at}} {{.Flag}}' = '{{.Words}}'
{{end}}{{end}}  }
  $words = $values["$at $($typed[-1])"]
  if (-not $words -and ($at -eq '' -or $at -eq 'archive' -or $word -like '-*')) { $words = $options[$at] }
  if ($words) { $words.Split(' ') | Where-Object { $_ -like "$word*" } }
}
{{end}}`))

// knownAt is what may stand behind a command: options and subcommands, and behind some
// options words.
type knownAt struct {
	At, Words string
	Values    []struct{ Flag, Words string }
}

// known is what may stand where in a command line.
func known(app *cli.App) []knownAt {
	out := []knownAt{{Words: "--help --version"}}
	for _, c := range slices.Backward(app.VisibleCommands()) {
		out[0].Words = c.Name + " " + out[0].Words
	}
	for _, c := range app.VisibleCommands() {
		k := knownOf(c.Name, c)
		for _, sub := range c.Subcommands {
			k.Words = strings.TrimSpace(k.Words + " " + sub.Name)
			out = append(out, knownOf(c.Name+" "+sub.Name, sub))
		}
		out = append(out, k)
	}
	return out
}

func knownOf(at string, c *cli.Command) knownAt {
	k := knownAt{At: at}
	var words []string
	for _, f := range c.VisibleFlags() {
		for _, n := range f.Names() {
			typed := "--" + n
			if len(n) == 1 {
				typed = "-" + n
			}
			words = append(words, typed)
			if values := choices(f); values != "" {
				k.Values = append(k.Values, struct{ Flag, Words string }{typed, values})
			}
		}
	}
	k.Words = strings.Join(words, " ")
	return k
}

// choices are the words that a flag chooses among, "" for any text.
func choices(f cli.Flag) string {
	if w, ok := f.(*choiceFlag); ok {
		return strings.Join(w.words, " ")
	}
	return ""
}
