package colour

import "math"

// Plain is a colour in plain words, such as "light brown" or "dark blue": what a person
// would call it across a bench, not an identification.
//
// The hue names are the basic terms of Berlin and Kay 1969, with cream, olive, turquoise
// and yellow-green between them, and the words before them are of the kind of the
// ISCC–NBS method (Kelly and Judd 1955): pale, light, dark, greyish, very dark. The
// bounds are our own, in [IPT], where hue runs straight: a tint of a blue is still blue.
func Plain(c Lab) string {
	p := c.XYZ(D50).IPT()
	if !c.finite() || !(p.I > 0) {
		return "black"
	}
	chroma := p.Chroma()
	if word := neutral(p.I, chroma); word != "" {
		return word
	}
	h := math.Mod(p.Hue()*180/math.Pi+360, 360)
	name, dark, light := hueName(h, p.I, chroma)
	switch {
	case p.I < 0.16:
		return "very dark " + name
	case name == "cream":
		return name
	case chroma < 0.09 && p.I < 0.9:
		if p.I < dark {
			return "dark greyish " + name
		}
		return "greyish " + name
	case p.I < dark:
		return "dark " + name
	case p.I > light && p.I > 0.78 && chroma < 0.2:
		return "pale " + name
	case p.I > light:
		return "light " + name
	}
	return name
}

// neutral names what has hardly any hue; "" if it has one.
func neutral(i, chroma float64) string {
	switch {
	case i < 0.2 && chroma < 0.1:
		return "black"
	case i > 0.93 && chroma < 0.045:
		return "white"
	case chroma >= 0.045:
		return ""
	case i < 0.42:
		return "dark grey"
	case i > 0.7:
		return "light grey"
	}
	return "grey"
}

// hueName is the name at a hue angle in degrees, lightness and chroma, and the lightnesses
// below and above which a colour of that name is called dark and light.
func hueName(h, i, chroma float64) (name string, dark, light float64) {
	full := chroma / i
	switch {
	case h < 22 || h >= 350:
		if i >= 0.5 {
			return "pink", 0.5, 0.72
		}
		return "red", 0.36, 0.6
	case h < 45:
		switch {
		case i >= 0.58 && full < 0.85:
			return "pink", 0.5, 0.72
		case full < 1 && i < 0.58:
			return "brown", 0.36, 0.52
		}
		return "red", 0.36, 0.6
	case h < 84:
		switch {
		case i >= 0.84 && chroma < 0.24 && h >= 66:
			return "cream", 0, 1
		case i >= 0.5 && (full >= 0.7 || i >= 0.8) || i >= 0.66 && full >= 0.5:
			return "orange", 0.5, 0.68
		}
		return "brown", 0.42, 0.52
	case h < 108:
		switch {
		case i >= 0.84 && chroma < 0.24 && h < 93:
			return "cream", 0, 1
		case i < 0.56:
			return "olive", 0.36, 0.6
		}
		return "yellow", 0.66, 0.92
	case h < 128:
		if i < 0.56 {
			return "olive", 0.36, 0.6
		}
		return "yellow-green", 0.5, 0.8
	case h < 174:
		return "green", 0.4, 0.76
	case h < 206:
		return "turquoise", 0.52, 0.84
	case h < 268:
		return "blue", 0.36, 0.68
	case h < 316:
		return "purple", 0.36, 0.66
	}
	if i >= 0.56 {
		return "pink", 0.5, 0.72
	}
	return "purple", 0.42, 0.66
}
