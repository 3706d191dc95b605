package picture

import (
	"strings"

	"triagebot/picture/drawing"
)

// The colours. Every text stands on one of the light ones at 4.5:1 or better,
// or is white on one of the deep ones; a test measures it.
const (
	paper  drawing.Colour = "#fbf9f4"
	white  drawing.Colour = "#ffffff"
	shell  drawing.Colour = "#e6e0d4" // plug housings, the meter
	rim    drawing.Colour = "#7b766c" // edges; holds 3:1 on white and on black
	ink    drawing.Colour = "#1c1b19"
	soft   drawing.Colour = "#4b4842"
	metal  drawing.Colour = "#3b3f45"
	red    drawing.Colour = "#b3151b"
	black  drawing.Colour = "#121212"
	green  drawing.Colour = "#17653a"
	amber  drawing.Colour = "#8a4b00"
	violet drawing.Colour = "#5b2a86" // suspects
)

// wires are the colours of insulation as people name them.
var wires = map[string]drawing.Colour{
	"red": "#d8262c", "black": "#1a1a1a", "green": "#2f9e44", "yellow": "#ffd43b", "white": "#ffffff",
	"blue": "#2b6cb0", "brown": "#7b4a21", "orange": "#f08c00", "grey": "#9a9a9a", "gray": "#9a9a9a",
	"purple": "#7b3fa0", "violet": "#7b3fa0", "pink": "#f2a0b9",
}

// wireColour is the colour of a wire by its name; ok is false when the name is
// none that is known, which is then only written.
func wireColour(name string) (drawing.Colour, bool) {
	c, ok := wires[strings.ToLower(strings.TrimSpace(name))]
	return c, ok
}

// The type sizes. At 360 pixels of width these are the sizes on a phone.
const (
	sizeTitle = 18.0
	sizeHead  = 15.0
	sizeBody  = 13.0
	sizeSmall = 12.0
)

func fill(c drawing.Colour) drawing.Style { return drawing.Style{Fill: c} }

func stroke(c drawing.Colour, width float64, dash ...float64) drawing.Style {
	return drawing.Style{Stroke: c, Width: width, Dash: dash}
}

func both(f, s drawing.Colour, width float64) drawing.Style {
	return drawing.Style{Fill: f, Stroke: s, Width: width}
}
