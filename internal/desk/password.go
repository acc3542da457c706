package desk

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// Parameters of argon2id: the second of the two choices of RFC 9106, section 4 (64 MiB,
// three passes, four lanes, 128 bits of salt, 256 bits of hash).
const (
	passes = 3
	memory = 64 << 10 // KiB
	lanes  = 4
)

// LeastPassword is how many letters a password has at least (NIST SP 800-63B, 5.1.1.2
// asks for eight; twelve, because nothing else guards the door).
const LeastPassword = 12

var errShort = errors.New("too short")

// HashPassword writes what a desk keeps of a password, in the form of the PHC string
// format: argon2id with its parameters, salt and hash. The error is that it is shorter
// than LeastPassword.
func HashPassword(password string) (string, error) {
	if len([]rune(password)) < LeastPassword {
		return "", errShort
	}
	salt := make([]byte, 16)
	rand.Read(salt) // it does not fail: crypto/rand
	return phc(salt, argon2.IDKey([]byte(password), salt, passes, memory, lanes, 32)), nil
}

func phc(salt, hash []byte) string {
	enc := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes, enc.EncodeToString(salt), enc.EncodeToString(hash))
}

// checkPassword tells whether a password is the one that was hashed.
func checkPassword(hashed, password string) bool {
	f := strings.Split(hashed, "$")
	if len(f) != 6 {
		return false
	}
	salt, err := base64.RawStdEncoding.DecodeString(f[4])
	if err != nil {
		return false
	}
	again := phc(salt, argon2.IDKey([]byte(password), salt, passes, memory, lanes, 32))
	return subtle.ConstantTimeCompare([]byte(again), []byte(hashed)) == 1
}
