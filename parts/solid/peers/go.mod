// Speed of the layered mesher against other libraries. A module of its own, so that
// the program does not depend on what only the comparison needs.
module tuckfinger/parts/solid/peers

go 1.26.0

require (
	github.com/deadsy/sdfx v0.0.0-20220508165057-718104295925
	github.com/unixpickle/model3d v0.4.4
	gonum.org/v1/gonum v0.17.0
	tuckfinger v0.0.0
)

require (
	github.com/ajstarks/svgo v0.0.0-20211024235047-1546f124cd8b // indirect
	github.com/golang/freetype v0.0.0-20170609003504-e2365dfdc4a0 // indirect
	github.com/llgcode/draw2d v0.0.0-20200930101115-bfaf5d914d1e // indirect
	github.com/pkg/errors v0.9.1 // indirect
	github.com/unixpickle/essentials v1.3.0 // indirect
	github.com/unixpickle/splaytree v1.1.0 // indirect
	github.com/yofu/dxf v0.0.0-20190710012328-5a6d1e83f16c // indirect
	golang.org/x/image v0.30.0 // indirect
)

replace tuckfinger => ../../..
