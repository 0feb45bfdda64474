package main

import (
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"laydown/colour/reference"
)

// ownShop has names that the demo has not.
const ownShop = `currency = "EUR"
pricing.margin_percent = 40
media = [{name = "film", sheet = "A4"}]
item = [{name = "Sea bag", colour = "navy"}, {name = "O'Neil's cap", colour = "red"}]
process = [{name = "press it", printer = "one", media = "film"}]
[[printer]]
name = "one"
toner.cyan = {price = 1, yield_pages = 9}
toner.magenta = {price = 1, yield_pages = 9}
toner.yellow = {price = 1, yield_pages = 9}
toner.black = {price = 1, yield_pages = 9}
`

// TestComplete finds what a word may become.
func TestComplete(t *testing.T) {
	atBench(t)
	if err := os.WriteFile("own.toml", []byte(ownShop), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		shell string
		words []string
		want  string // words and the directive
	}{
		{"fish", []string{"c"}, "coverage completion :none"},
		{"fish", []string{"LE"}, "ledger :none"},
		{"fish", []string{"--v"}, "--version :none"},
		{"fish", []string{"ledger", ""}, "add list undo correct fit :none"},
		{"fish", []string{"ledger", "list", ""}, ":none"},
		{"fish", []string{"ledger", "undo", ""}, ":none"},
		{"zsh", []string{"ledger", "add", "--kind", ""}, "print jam test :none"},
		{"zsh", []string{"ledger", "correct", "--during", "n"}, "next none :none"},
		{"fish", []string{"help", "led"}, "ledger :none"},
		{"fish", []string{"help", "ledger", "f"}, "fit :none"},
		{"fish", []string{"nothing", ""}, ":none"},
		{"fish", []string{"ledger", "nothing", ""}, ":none"},
		{"fish", []string{"coverage", "--item-"}, "--item-colour --item-color :none"},
		{"fish", []string{"gang", "--pi"}, "--picture :none"},
		{"fish", []string{"coverage", ""}, ":files"},
		{"fish", []string{"coverage", "--", "--item-"}, ":files"},
		{"fish", []string{"man", ""}, ":none"},
		{"fish", []string{"coverage", "--item", "Wh"}, "white tee :none"},
		{"fish", []string{"coverage", "a.png", "-i", ""}, "black tee white tee enamel mug china mug steel tumbler steel plate glass coaster birch board outside sticker inside sticker forearm loose tattoo transfer sheet none :none"},
		{"fish", []string{"coverage", "--shop", "own.toml", "--item", ""}, "Sea bag O'Neil's cap none :none"},
		{"fish", []string{"coverage", "--shop=own.toml", "--process=p"}, "--process=press it :none"},
		{"fish", []string{"coverage", "-f", "gone.toml", "--item", ""}, ":none"},
		{"bash", []string{"coverage", "--process", "=", "d"}, "dark garment decal on white :none"},
		{"bash", []string{"coverage", "--process", "="}, "dark garment light garment white film decal on white temporary tattoo gold foil flat hard goods round hard goods outside film inside film :none"},
		{"bash", []string{"coverage", "-i", `"bl`}, "black tee :none"},
		{"zsh", []string{"quote", "--sheet", "l"}, "Letter Legal :none"},
		{"zsh", []string{"quote", "--black", ""}, "none light medium heavy full :none"},
		{"zsh", []string{"quote", "--keep-pure", "a"}, "all :none"},
		{"zsh", []string{"quote", "--intent", "p"}, "perceptual :none"},
		{"zsh", []string{"match", "--measurement", "m"}, "m0 m1 m2 m3 :none"},
		{"zsh", []string{"ledger", "add", "--cartridge", ""}, "cyan magenta yellow black white :none"},
		{"zsh", []string{"ledger", "fit", "--printer", ""}, "bench printer :none"},
		{"zsh", []string{"proof", "--html", ""}, ":files"},
		{"zsh", []string{"separate", "--out", ""}, ":folders"},
		{"zsh", []string{"separate", "--format", "p"}, "png pdf :none"},
		{"zsh", []string{"man", "--out", ""}, ":files"},
		{"zsh", []string{"proof", "--width", ""}, ":none"},
		{"powershell", []string{"completion", "=p"}, "powershell :none"},
		{"powershell", []string{"list", "="}, "items processes media sheets printers :none"},
	} {
		code, out, errs := call(append([]string{"complete-words", c.shell}, c.words...)...)
		var got []string
		for _, line := range strings.Split(strings.TrimSpace(out.String()), "\n") {
			word, _, _ := strings.Cut(line, "\t")
			got = append(got, word)
		}
		if strings.Join(got, " ") != c.want || code != 0 || errs.Len() > 0 {
			t.Errorf("%s %q: %q, %d, %s; want %q", c.shell, c.words, got, code, errs, c.want)
		}
	}
	// Every option that takes one of few words, or a file, says so.
	w, _, _ := testWorld()
	for name, cmd := range allCommands(newApp(w)) {
		for _, f := range cmd.Flags {
			if isSwitch(f) || slices.Contains([]string{"width", "height", "dpi", "page", "tac", "qty", "item-colour", "colour", "margin", "gap", "sheets", "pieces", "job", "left", "put-in", "forgotten", "date", "order-number", "for", "valid-days"}, f.Names()[0]) {
				continue
			}
			if found, directive := valuesOf(name, f.Names()[0], w, ""); len(found) == 0 && directive == nothingElse {
				t.Errorf("nothing completes --%s of %s", f.Names()[0], name)
			}
		}
	}
	if code, _, _ := call("completion", "csh"); code != exitUsage {
		t.Error("a script for an unknown shell")
	}
}

// completing says, in the language of each shell, what its own completion makes of lines
// whose words are parted by "|"; a line of the answer for each, of words parted by "|".
var completing = map[string]string{
	"bash": `
source <(laydown completion bash)
complete -p laydown >/dev/null || exit 1
compopt() { :; } # bash has it only while it completes
while IFS= read -r line; do
	IFS='|' read -r -a COMP_WORDS <<<"$line|end"
	unset 'COMP_WORDS[${#COMP_WORDS[@]}-1]'
	COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
	_laydown
	(IFS='|'; echo "${COMPREPLY[*]}")
done
`,
	// compadd works only while zsh completes: what is handed to it is told instead, which
	// quotes it, as compadd does.
	"zsh": `
autoload -U compinit && compinit -u -D || exit 1
source <(laydown completion zsh)
[[ $_comps[laydown] == _laydown ]] || exit 1
compadd() { reply+=("${(@q)${(P@)@[-1]}}") }
_files() { [[ $1 == -/ ]] && reply+=(*(N-/)) || reply+=("${words[CURRENT]}"*(N)) }
while IFS= read -r line; do
	words=("${(@s:|:)line}") CURRENT=${#words} reply=()
	_laydown
	print -r -- "${(j:|:)reply}"
done
`,
	"fish": `
laydown completion fish | source
while read -l line
	set -l typed (string split '|' -- $line)
	set -l escaped (string escape -- $typed[1..-2]) (string replace -a ' ' '\\ ' -- $typed[-1])
	set -l found
	for c in (complete -C (string join ' ' -- $escaped))
		set -a found (string split -f1 \t -- $c)
	end
	echo (string join '|' -- $found)
end
`,
}

// TestShells sources the scripts in the very shells (Debian's bash, zsh and fish) and holds
// what they offer to what it should be. PowerShell is not in Debian: of its script
// TestPowerShell looks at the text alone.
func TestShells(t *testing.T) {
	reference.Long(t)
	atBench(t)
	if err := os.WriteFile("own.toml", []byte(ownShop), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir("folder", 0o755); err != nil {
		t.Fatal(err)
	}
	lines := [][2]string{ // what is typed, and the words that may stand
		{"laydown|q", "quote"},
		{"laydown|ledger|", "add|list|undo|correct|fit"},
		{"laydown|coverage|--item-c", "--item-colour|--item-color"},
		{"laydown|coverage|--item|bl", "black tee"},
		{"laydown|coverage|--process|D", "dark garment|decal on white"},
		{"laydown|coverage|--shop|own.toml|-i|O", "O'Neil's cap"},
		{"laydown|coverage|bad", "badge.png"},
		{"laydown|separate|badge.png|--out|", "folder"},
	}
	var in strings.Builder
	for _, l := range lines {
		in.WriteString(l[0] + "\n")
	}
	for _, shell := range shells[:3] {
		t.Run(shell, func(t *testing.T) {
			args := map[string][]string{"bash": {"--norc", "-c"}, "zsh": {"-f", "-c"}, "fish": {"--no-config", "-c"}}[shell]
			cmd := exec.Command(reference.Tool(t, shell), append(args, completing[shell])...)
			cmd.Stdin = strings.NewReader(in.String())
			cmd.Env = append(os.Environ(), "HOME="+t.TempDir(), "XDG_CONFIG_HOME=", "XDG_DATA_HOME=", "LAYDOWN_SHOP=", "LC_ALL=C.UTF-8")
			var errs strings.Builder
			cmd.Stderr = &errs
			out, err := cmd.Output()
			if err != nil || errs.Len() > 0 {
				t.Fatalf("%v: %s", err, errs.String())
			}
			got := strings.Split(strings.TrimSuffix(string(out), "\n"), "\n")
			if len(got) != len(lines) {
				t.Fatalf("%d lines of %d: %q", len(got), len(lines), got)
			}
			for i, l := range lines {
				words := strings.Split(strings.NewReplacer(`\`, "", "/", "").Replace(got[i]), "|") // quoted for the shell
				want := strings.Split(l[1], "|")
				slices.Sort(words)
				slices.Sort(want)
				if !slices.Equal(words, want) {
					t.Errorf("%s: %q, want %q", l[0], words, want)
				}
			}
		})
	}
}

// TestPowerShell looks at the text of the script: Debian has no PowerShell to run it in. It
// registers a completer, asks the program for words, and its brackets and quotes are even.
func TestPowerShell(t *testing.T) {
	_, out, _ := call("completion", "powershell")
	text := out.String()
	for _, want := range []string{"Register-ArgumentCompleter -Native -CommandName laydown -ScriptBlock {", "param($wordToComplete, $commandAst, $cursorPosition)",
		"complete-words powershell @typed \"=$wordToComplete\"", "[System.Management.Automation.CompletionResult]::new("} {
		if !strings.Contains(text, want) {
			t.Errorf("the script has no %q", want)
		}
	}
	var open []rune
	quote := rune(0)
	pairs := map[rune]rune{')': '(', ']': '[', '}': '{'}
	for _, line := range strings.Split(text, "\n") {
		if strings.HasPrefix(strings.TrimSpace(line), "#") {
			continue
		}
		escaped := false
		for _, r := range line {
			switch {
			case escaped:
				escaped = false
			case r == '`':
				escaped = true
			case quote != 0:
				if r == quote {
					quote = 0
				}
			case r == '\'' || r == '"':
				quote = r
			case r == '(' || r == '[' || r == '{':
				open = append(open, r)
			case pairs[r] != 0:
				if len(open) == 0 || open[len(open)-1] != pairs[r] {
					t.Fatalf("%q closes nothing in: %s", r, line)
				}
				open = open[:len(open)-1]
			}
		}
		if quote != 0 {
			t.Fatalf("a quote is open at the end of: %s", line)
		}
	}
	if len(open) > 0 {
		t.Errorf("%q are never closed", string(open))
	}
}
