-- expect: error "steps"
::again:: goto again
