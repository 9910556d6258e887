package outline

import "testing"

func TestCPU(t *testing.T) {
	s := sampling{density: 500, sigma: 0.03, pattern: "scan"}
	t.Log(s.run(shapes(4), 20, 7, nil))
}
