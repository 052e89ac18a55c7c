package ledger

import (
	"crypto/rand"
	"crypto/sha256"
)

// saltSize makes guessing a short text (a name, a telephone number) from its
// hash hopeless.
const saltSize = 32

// Text is an erasable text: the record that speaks of it holds only its [TextRef].
type Text struct {
	ID   string
	Salt []byte
	Text string
}

// TextRef is what a record holds of a text.
type TextRef struct {
	ID string `json:"id"`
	// SHA256 is the hash of the salt followed by the text.
	SHA256 Digest `json:"sha256"`
}

// NewText returns a text with a new identity and salt.
func NewText(text string) Text {
	salt := make([]byte, saltSize)
	rand.Read(salt) // never fails, see crypto/rand
	return Text{ID: NewID(), Salt: salt, Text: text}
}

// Ref returns what a record's content should hold of the text.
func (t Text) Ref() TextRef {
	return TextRef{ID: t.ID, SHA256: sha256.Sum256(append(t.Salt[:len(t.Salt):len(t.Salt)], t.Text...))}
}
