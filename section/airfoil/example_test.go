package airfoil_test

import (
	"fmt"
	"math"
	"os"

	"tipwright/section/airfoil"
)

func ExampleAirfoil_Tape() {
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		fmt.Println(err)
		return
	}
	factor, angle := a.Tape()
	fmt.Printf("A taped chord of 1220 mm is a reference chord of %.2f mm; the tape lies at %.2f degrees to it.\n",
		1220/factor, angle*180/math.Pi)
	// Output: A taped chord of 1220 mm is a reference chord of 1219.19 mm; the tape lies at -0.26 degrees to it.
}

func ExampleOrdinates() {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := airfoil.Ordinates(os.Stdout, a); err != nil {
		fmt.Println(err)
	}
	// Output:
	// NACA 2412
	//
	// thickness                12.007 % of chord at 29.9 %
	// camber                    2.000 % of chord at 40.0 %
	// nose radius               1.587 % of chord
	// foremost point           -0.008 % of chord, height 0.156 %
	// trailing edge             0.252 % of chord thick
	// taped chord             1.00008 of the reference chord, 0.091 deg to it, its nose end above
	//
	//        x     upper     lower   per cent of chord
	//     0.00     0.312     0.000
	//     0.50     1.426    -1.042
	//     1.25     2.160    -1.652
	//     2.50     2.986    -2.268
	//     5.00     4.131    -3.005
	//     7.50     4.968    -3.458
	//    10.00     5.629    -3.761
	//    15.00     6.607    -4.102
	//    20.00     7.261    -4.228
	//    25.00     7.670    -4.221
	//    30.00     7.879    -4.129
	//    35.00     7.916    -3.982
	//    40.00     7.803    -3.803
	//    45.00     7.569    -3.593
	//    50.00     7.242    -3.346
	//    55.00     6.834    -3.072
	//    60.00     6.351    -2.778
	//    65.00     5.797    -2.471
	//    70.00     5.178    -2.154
	//    75.00     4.495    -1.830
	//    80.00     3.750    -1.502
	//    85.00     2.942    -1.168
	//    90.00     2.071    -0.829
	//    95.00     1.134    -0.482
	//   100.00     0.127    -0.126
}
