"""Files for other programs and for paper: meshes, scenes, drawings and pages, each written from values to bytes."""
