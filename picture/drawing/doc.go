// Package drawing keeps a picture as a list of shapes and writes it as SVG or
// as PNG. Both come from the same list, and text is drawn as the outlines of
// an embedded font, so a picture looks the same in a browser, in a chat and on
// paper. Nothing here knows what is drawn.
//
// Coordinates are in pixels of the picture at scale 1, y downwards.
package drawing
