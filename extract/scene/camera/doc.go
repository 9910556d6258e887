// Package camera takes aerial images of a simulated world: true-orthos, in
// which everything is seen from straight above, and orthos rectified onto the
// terrain, in which what stands up leans outward from the camera's nadir.
//
// A pixel is the mean of the light over its area, blurred by a Gaussian
// aperture, with white noise. Rows are rendered in strips, so that memory does
// not depend on the size of the image, and every number drawn is keyed by its
// place, so that the bytes do not depend on the number of workers.
package camera
