"""What goes with what, and how safely: tyre on rim, tube, pressure, the wheel on the road."""
