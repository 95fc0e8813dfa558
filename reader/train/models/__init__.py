"""The networks and their trainings, down to the packaged ONNX files."""
