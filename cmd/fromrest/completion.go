package main

import (
	"slices"
	"strings"
	"text/template"

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
			shell := c.Args().First()
			if !slices.Contains([]string{"bash", "zsh", "fish"}, shell) || c.NArg() != 1 {
				return usagef("completion: want one of bash, zsh, fish")
			}
			return completions.ExecuteTemplate(c.App.Writer, shell, c.App)
		},
	}
}

// completions are the scripts by shell, each made of the commands as they are.
var completions = template.Must(template.New("").Funcs(template.FuncMap{
	"words":  words,
	"zquote": func(s string) string { return strings.ReplaceAll(s, "'", `'\''`) },
	"fquote": func(s string) string {
		return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`, "`", "").Replace(s) + "'"
	},
}).Parse(`
{{- define "bash" -}}
_fromrest() {
  local cur="${COMP_WORDS[COMP_CWORD]}" words=""
  case "${COMP_WORDS[1]}" in
{{range .VisibleCommands}}    {{.Name}}) words="{{words .}}" ;;
{{end}}  esac
  if [ "$COMP_CWORD" -eq 1 ]; then
    words="{{range .VisibleCommands}}{{.Name}} {{end}}--help --version"
  elif [ "${cur#-}" = "$cur" ]; then
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
  if [[ $PREFIX == -* ]]; then
    case $words[2] in
{{range .VisibleCommands}}      {{.Name}}) compadd -- {{words .}} ;;
{{end}}    esac
  else
    _files
  fi
}
compdef _fromrest fromrest
{{end}}
{{- define "fish" -}}
{{range $c := .VisibleCommands}}complete -c fromrest -n __fish_use_subcommand -f -a {{.Name}} -d {{fquote .Usage}}
{{range .VisibleFlags}}complete -c fromrest -n '__fish_seen_subcommand_from {{$c.Name}}'
{{- range .Names}}{{if eq (len .) 1}} -s {{else}} -l {{end}}{{.}}{{end}}{{if .TakesValue}} -r{{end}} -d {{fquote .GetUsage}}
{{end}}{{end}}{{end}}`))

// words lists a command's options as typed.
func words(c *cli.Command) string {
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
	return strings.Join(out, " ")
}
