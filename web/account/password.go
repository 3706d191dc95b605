package account

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// ErrPassword is returned for a password that will not do.
var ErrPassword = errors.New("a password needs 10 to 200 characters")

// What argon2id costs: 19 MiB and two passes, the least that is recommended for
// a machine that has other work. At most hashing are worked out at once, so that
// a flood of sign-ins cannot take all memory.
const (
	passes     = 2
	memory     = 19 << 10 // KiB
	threads    = 1
	saltBytes  = 16
	hashBytes  = 32
	hashing    = 4
	leastRunes = 10
	mostBytes  = 200
)

var slots = make(chan struct{}, hashing)

func derive(password string, salt []byte, time, memory uint32, threads uint8) []byte {
	slots <- struct{}{}
	defer func() { <-slots }()
	return argon2.IDKey([]byte(password), salt, time, memory, threads, hashBytes)
}

// hash writes a password as $argon2id$v=19$m=..,t=..,p=..$salt$hash.
func hash(password string) (string, error) {
	if utf8.RuneCountInString(password) < leastRunes || len(password) > mostBytes {
		return "", ErrPassword
	}
	salt := make([]byte, saltBytes)
	rand.Read(salt) // never fails
	key := derive(password, salt, passes, memory, threads)
	b64 := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, threads, b64(salt), b64(key)), nil
}

// nobody is what a password is held against where there is no account, so that
// the time of an answer does not tell which names exist.
var nobody = fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, threads,
	strings.Repeat("A", 22), strings.Repeat("A", 43))

// matches says whether a password is the one of a hash.
func matches(written, password string) bool {
	var (
		version        int
		memory, passes uint32
		threads        uint8
	)
	parts := strings.Split(written, "$")
	if len(parts) != 6 || parts[1] != "argon2id" || len(password) > mostBytes {
		return false
	}
	if _, err := fmt.Sscanf(parts[2], "v=%d", &version); err != nil || version != argon2.Version {
		return false
	}
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &memory, &passes, &threads); err != nil || passes < 1 || threads < 1 {
		return false
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	if err != nil {
		return false
	}
	key, err := base64.RawStdEncoding.DecodeString(parts[5])
	if err != nil {
		return false
	}
	return subtle.ConstantTimeCompare(key, derive(password, salt, passes, memory, threads)) == 1
}
