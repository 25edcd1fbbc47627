"""One surface written by programs' libraries that know nothing of this package: VTK, Open3D, meshio.

Reads {"dir", "points", "triangles"} from standard input and writes the files into the folder. Answers with a list of
{"file", "by", "cloud"}.
"""
import json
import os
import sys

import meshio
import numpy
import open3d
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkIOGeometry import vtkOBJWriter, vtkSTLWriter
from vtkmodules.vtkIOPLY import vtkPLYWriter

open3d.utility.set_verbosity_level(open3d.utility.VerbosityLevel.Error)
job = json.load(sys.stdin)
points = numpy.array(job["points"], dtype=numpy.float32)
triangles = numpy.array(job["triangles"], dtype=numpy.int64)
written = []


def note(name, by, cloud=False):
    written.append({"file": name, "by": by, "cloud": cloud})
    return os.path.join(job["dir"], name)


def by_vtk():
    body = vtkPolyData()
    corners = vtkPoints()
    corners.SetData(numpy_to_vtk(points, deep=True))
    body.SetPoints(corners)
    cells = numpy.hstack([numpy.full((len(triangles), 1), 3), triangles]).ravel()
    faces = vtkCellArray()
    faces.SetCells(len(triangles), numpy_to_vtkIdTypeArray(cells, deep=True))
    body.SetPolys(faces)
    for name, writer, set_up in [
        ("vtk-text.stl", vtkSTLWriter(), lambda w: w.SetFileTypeToASCII()),
        ("vtk.stl", vtkSTLWriter(), lambda w: w.SetFileTypeToBinary()),
        ("vtk.obj", vtkOBJWriter(), lambda w: None),
        ("vtk-text.ply", vtkPLYWriter(), lambda w: w.SetFileTypeToASCII()),
        ("vtk-little.ply", vtkPLYWriter(), lambda w: w.SetDataByteOrderToLittleEndian()),
        ("vtk-big.ply", vtkPLYWriter(), lambda w: w.SetDataByteOrderToBigEndian()),
    ]:
        writer.SetFileName(note(name, "VTK"))
        writer.SetInputData(body)
        set_up(writer)
        writer.Write()


def by_open3d():
    mesh = open3d.geometry.TriangleMesh(
        open3d.utility.Vector3dVector(points.astype(float)), open3d.utility.Vector3iVector(triangles.astype(numpy.int32)))
    mesh.compute_vertex_normals()
    mesh.paint_uniform_color([0.2, 0.5, 0.9])
    for name, text in [("open3d.ply", False), ("open3d-text.ply", True), ("open3d.stl", False), ("open3d.obj", True),
                       ("open3d.off", True), ("open3d.glb", False)]:
        open3d.io.write_triangle_mesh(note(name, "Open3D"), mesh, write_ascii=text)
    cloud = open3d.geometry.PointCloud(mesh.vertices)
    cloud.normals, cloud.colors = mesh.vertex_normals, mesh.vertex_colors
    for name, text, packed in [("open3d-text.pcd", True, False), ("open3d.pcd", False, False),
                               ("open3d-packed.pcd", False, True), ("open3d.pts", True, False), ("open3d.xyz", True, False),
                               ("open3d.xyzn", True, False), ("open3d-cloud.ply", False, False)]:
        open3d.io.write_point_cloud(note(name, "Open3D", True), cloud, write_ascii=text, compressed=packed)


def by_meshio():
    mesh = meshio.Mesh(points, [("triangle", triangles)])
    for name, how in [("meshio.off", {}), ("meshio.obj", {}), ("meshio.ply", {"binary": True}),
                      ("meshio-text.ply", {"binary": False}), ("meshio.stl", {"binary": True}),
                      ("meshio-text.stl", {"binary": False})]:
        meshio.write(note(name, "meshio"), mesh, **how)


by_vtk()
by_open3d()
by_meshio()
json.dump(written, sys.stdout)
