// Package form tells what form a roof has: its parts, one for each plane or
// curved surface, tiling the outline, and its type.
//
// Where two planes meet, their parts meet on the line in which the planes
// intersect, so ridges, hips and valleys come out straight. Where they do not
// meet there is a step, and steps run parallel to sides of the outline. A
// decision tree (Breiman, Friedman, Olshen & Stone 1984) chooses among these
// cuts those that part the returns of different surfaces best; its leaves,
// joined by surface, are the parts. docs/form.md tells more.
package form
