module laydown

go 1.26.0

require (
	github.com/disintegration/imaging v1.6.2 // indirect
	github.com/hhrutter/lzw v1.0.0 // indirect
	github.com/hhrutter/tiff v1.0.2 // indirect
	github.com/lucasb-eyer/go-colorful v1.3.0 // indirect
	github.com/mandykoh/go-parallel v0.1.0 // indirect
	github.com/mandykoh/prism v0.35.3 // indirect
	golang.org/x/image v0.47.0 // indirect
	gonum.org/v1/gonum v0.17.0 // indirect
)
