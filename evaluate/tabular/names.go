package tabular

import (
	"fmt"
	"strings"
)

// NameKey is the form in which names that people type are compared: lower case,
// with single spaces.
func NameKey(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// Unknown says that the shop does not have a name, and which it may be.
func Unknown(what, name string, names []string) error {
	if near := Nearest(name, names); near != "" {
		return fmt.Errorf("%q is not a %s of the shop; did you mean %s?", name, what, near)
	}
	return fmt.Errorf("%q is not a %s of the shop; write one of %s", name, what, strings.Join(names, ", "))
}
