package control_test

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

func ExampleMatch() {
	house := orb.Polygon{{{500100, 5800000}, {500110, 5800000}, {500110, 5800008}, {500100, 5800008}, {500100, 5800000}}}
	corners := control.CornersOf([]orb.Polygon{house}, []string{"b1"})
	const survey = `point,northing,easting,elevation,description
1,5800000.02,500100.03,,roof SW
2,5799999.97,500110.02,,roof SE
3,5800008.02,500109.96,,roof NE
4,5800031.00,500100.00,,shed
`
	points, err := control.Read(strings.NewReader(survey), house.Bound())
	if err != nil {
		fmt.Println(err)
		return
	}
	result := control.Stats(control.Match(corners, points, 0.5))
	fmt.Print(result.Summary(vector.CRS{Horizontal: vector.Metre}))
	// Output:
	// Control: 4 surveyed points, 3 matched to a corner, 3 used (on 1 building)
	//                       n    mean E    mean N      sd E      sd N    RMSE E    RMSE N    RMSE H    95 % H  m
	// all matched           3    -0.003    -0.003     0.038     0.029     0.031     0.024     0.039     0.067
	// without blunders      3    -0.003    -0.003     0.038     0.029     0.031     0.024     0.039     0.067
	// Differences are delivered minus surveyed. 95 % H: 2.4477 · (RMSE E + RMSE N)/2 (NSSDA, unequal axes, ratio 0.77)
	// Blunders: not looked for, as fewer than 5 points are matched
	// Not matched: 1
	//   4: outside the delivered buildings: the nearest corner, of b1, is 23.00 away
	// Note: 3 used, and the NSSDA asks for 20: a figure from so few is an indication, not a test by that standard
}
