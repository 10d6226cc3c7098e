"""Run by a Python that has Blender's module `bpy`: reads a GLB, prints each object's bounds at every key.

Blender's axes: x as glTF has it, y is glTF's -z, z is up. Metres.
"""

import json
import sys


def keys_of(bpy):
    """Where a curve has a key, in frames, which need not be whole."""
    curves = (
        curve
        for action in bpy.data.actions
        for layer in action.layers
        for strip in layer.strips
        for bag in strip.channelbags
        for curve in bag.fcurves
    )
    return sorted({round(float(point.co[0]), 6) for curve in curves for point in curve.keyframe_points})


def bounds(bpy):
    graph = bpy.context.evaluated_depsgraph_get()
    found = {}
    for thing in bpy.context.scene.objects:
        if thing.type == "MESH":
            there = thing.evaluated_get(graph)
            places = [there.matrix_world @ vertex.co for vertex in there.to_mesh().vertices]
            found[thing.name] = [[end(p[i] for p in places) for i in range(3)] for end in (min, max)]
            there.to_mesh_clear()
    return found


def main(path):
    import bpy

    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.ops.import_scene.gltf(filepath=path)
    moments, weights = [], []
    for frame in keys_of(bpy):
        bpy.context.scene.frame_set(int(frame), subframe=frame % 1.0)
        moments.append(bounds(bpy))
        weights += [block.value for keys in bpy.data.shape_keys for block in keys.key_blocks[1:]]
    print("SEEN " + json.dumps({"moments": moments, "weights": [min(weights), max(weights)]}))


if __name__ == "__main__":
    main(sys.argv[1])
