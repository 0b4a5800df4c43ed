// Package wording says answers to a person: by name, rounded by their uncertainty, in the units the person asked in or chose, as lines of a table and
// as sentences, with what limits them. It measures nothing, and knows nothing of where the words are shown.
//
// What comes in is SI; what goes out is text, and numbers only inside the answers it passes on.
package wording
