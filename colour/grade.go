package colour

import "fmt"

// Grade says how well a printed colour matches its target.
type Grade string

// The grades, best first.
const (
	Close   Grade = "close"   // nobody will object
	Near    Grade = "near"    // seen side by side by a trained eye
	Visible Grade = "visible" // seen side by side by anybody
	Off     Grade = "off"     // another colour
)

// Limits are the largest ΔE00 that still earn each grade; beyond Visible the
// grade is [Off]. They must rise.
type Limits struct{ Close, Near, Visible float64 }

// Check returns an error when the limits are not positive and rising.
func (l Limits) Check() error {
	if !(0 < l.Close && l.Close < l.Near && l.Near < l.Visible) {
		return fmt.Errorf("grade limits %g, %g, %g must be above 0 and rise from close to near to visible",
			l.Close, l.Near, l.Visible)
	}
	return nil
}

// Grade returns the grade of a CIEDE2000 difference.
func (l Limits) Grade(deltaE float64) Grade {
	switch {
	case deltaE <= l.Close:
		return Close
	case deltaE <= l.Near:
		return Near
	case deltaE <= l.Visible:
		return Visible
	}
	return Off
}
