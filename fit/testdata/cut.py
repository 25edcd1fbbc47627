"""Slices of a mesh by VTK's cutter.

Reads {"file", "planes": [{"origin", "normal"}]} from standard input, the file a PLY in the planes' frame. Answers with
{"points", "triangles", "slices"}: how much VTK read, and for each plane a list of straight pieces [[x, y, z], [x, y, z]].
"""
import json
import sys

from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkCommonDataModel import vtkPlane
from vtkmodules.vtkFiltersCore import vtkCutter
from vtkmodules.vtkIOPLY import vtkPLYReader

job = json.load(sys.stdin)
reader = vtkPLYReader()
reader.SetFileName(job["file"])
reader.Update()
mesh = reader.GetOutput()


def cut(origin, normal):
    plane = vtkPlane()
    plane.SetOrigin(origin)
    plane.SetNormal(normal)
    cutter = vtkCutter()
    cutter.SetCutFunction(plane)
    cutter.SetInputData(mesh)
    cutter.Update()
    lines = cutter.GetOutput()
    points = vtk_to_numpy(lines.GetPoints().GetData()).astype(float)
    pieces = vtk_to_numpy(lines.GetLines().GetConnectivityArray()).reshape(-1, 2)
    return points[pieces].tolist()


json.dump({
    "points": mesh.GetNumberOfPoints(), "triangles": mesh.GetNumberOfPolys(),
    "slices": [cut(p["origin"], p["normal"]) for p in job["planes"]],
}, sys.stdout)
