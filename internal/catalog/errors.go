package catalog

import (
	"errors"
	"fmt"
	"strings"

	"drawbar/controller"
)

// What a caller may want to tell apart; ask with errors.Is.
var (
	ErrConflict = errors.New("changed by another meanwhile")
	ErrNotFound = errors.New("there is none")
	ErrInvalid  = errors.New("not valid")
)

// ConflictError says that an item is not at the revision that was stated: another
// has changed it. It is an ErrConflict.
type ConflictError struct {
	Kind    Kind
	ID      ID
	Stated  int64
	Current int64
}

func (e *ConflictError) Error() string {
	return fmt.Sprintf("%s %s is at revision %d, not %d: read it again and repeat the change", e.Kind, e.ID, e.Current, e.Stated)
}

// Is makes it an ErrConflict.
func (e *ConflictError) Is(target error) bool { return target == ErrConflict }

// NotFoundError says that there is no item of an id. It is an ErrNotFound.
type NotFoundError struct {
	Kind Kind
	ID   ID
}

func (e *NotFoundError) Error() string {
	return fmt.Sprintf("there is no %s %s", e.Kind, shown(string(e.ID)))
}

// Is makes it an ErrNotFound.
func (e *NotFoundError) Is(target error) bool { return target == ErrNotFound }

// InvalidError is everything wrong with an item. It is an ErrInvalid.
type InvalidError struct {
	Kind     Kind
	Problems []controller.Problem
}

// Error has one problem a line.
func (e *InvalidError) Error() string {
	lines := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		lines[i] = e.Kind.String() + ": " + p.Error()
	}
	return strings.Join(lines, "\n")
}

// Is makes it an ErrInvalid.
func (e *InvalidError) Is(target error) bool { return target == ErrInvalid }

func invalid(kind Kind, is problems) error {
	if len(is) == 0 {
		return nil
	}
	return &InvalidError{Kind: kind, Problems: is}
}
