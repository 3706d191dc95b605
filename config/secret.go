package config

import (
	"log/slog"
	"os"
	"runtime"
	"strings"

	"gopkg.in/yaml.v3"
)

// Secret is a token that is kept elsewhere. It shows itself to no log.
type Secret struct{ value string }

// Value is the token.
func (s Secret) Value() string { return s.value }

func (s Secret) String() string       { return "(secret)" }
func (s Secret) GoString() string     { return "(secret)" }
func (s Secret) LogValue() slog.Value { return slog.StringValue("(secret)") }

// leastToken is how many bytes make a token that nobody guesses.
const leastToken = 20

const howToMake = "make one with: head -c 24 /dev/urandom | base64"

// secret reads {env: NAME} or {file: PATH}.
func (r *reader) secret(n *yaml.Node, name string) (s Secret) {
	if n.Kind == yaml.ScalarNode {
		r.problem(n, "a token must not stand in the config, which is copied and shown about; put it into a file that only the bot can read and write %s: {file: PATH}, or {env: NAME} (and make a new token: this one is spent)", last(name))
		return s
	}
	var from struct {
		Env  string `yaml:"env"`
		File string `yaml:"file"`
	}
	before := len(r.found)
	r.into(n, &from, name)
	if len(r.found) > before {
		return s
	}
	switch {
	case (from.Env == "") == (from.File == ""):
		r.problem(n, "a token needs one of {env: NAME} and {file: PATH}")
		return s
	case from.Env != "":
		s.value = strings.TrimSpace(r.env(from.Env))
		if s.value == "" {
			r.problem(r.at[name+".env"], "the environment has no %s; set it, or name a file: {file: PATH}", from.Env)
			return s
		}
	default:
		s.value = r.secretFile(r.at[name+".file"], r.path(from.File))
		if s.value == "" {
			return s
		}
	}
	if len(s.value) < leastToken || strings.ContainsAny(s.value, " \t\r\n") {
		r.problem(n, "this token has fewer than %d characters or a space in it; %s", leastToken, howToMake)
	}
	return s
}

func (r *reader) secretFile(at *yaml.Node, path string) string {
	info, err := os.Stat(path)
	if err != nil {
		r.problem(at, "the token's file does not read (%v); %s > %s && chmod 600 %s", err, howToMake, path, path)
		return ""
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 && runtime.GOOS != "windows" {
		r.problem(at, "others can read or write the token's file (mode %04o); mend it with: chmod 600 %s", mode, path)
		return ""
	}
	data, err := os.ReadFile(path)
	if err != nil {
		r.problem(at, "the token's file does not read (%v)", err)
		return ""
	}
	token := strings.TrimSpace(string(data))
	if token == "" {
		r.problem(at, "the token's file %q is empty; %s > %s", path, howToMake, path)
	}
	return token
}

func last(name string) string {
	if i := strings.LastIndexByte(name, '.'); i >= 0 {
		return name[i+1:]
	}
	return name
}
