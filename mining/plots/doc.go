// Package plots draws a report's statistics as SVG and PNG, on gonum/plot.
//
//	pictures, err := plots.All(aggregate, report, shifts, options)
//	err = pictures[0].WriteSVG(w)
//
// Each picture has its own light ground and carries its type inside, so that
// it reads the same on a light page, on a dark one and on paper. What differs
// differs in shape, dash or label as well as in colour. Only what the report
// shows is drawn: hidden groups are hidden here too.
package plots
