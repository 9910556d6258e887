// Package statement says in words what a delivery was tested for and what came
// of it: as sections for a page, as plain text, and as ISO 19115-3 metadata.
// It never claims a standard that was not met, and without surveyed points it
// says that nothing was tested.
package statement
