"""The scanned panel's files as other programs' libraries read them.

Reads {"ply", "glb"} from standard input, paths. Answers with a list of {"by", "file", "points", "triangles",
"colours", "departures", "normals"}: colours from 0 to 1 as they stand in the file, what a reader does not give is null.
"""
import json
import sys

import meshio
import numpy
import open3d
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkIOGeometry import vtkGLTFReader
from vtkmodules.vtkIOPLY import vtkPLYReader

open3d.utility.set_verbosity_level(open3d.utility.VerbosityLevel.Error)
job = json.load(sys.stdin)
answers = []


def answer(by, file, points, triangles, colours=None, departures=None, normals=None):
    plain = lambda v: None if v is None else numpy.asarray(v, dtype=float).tolist()
    answers.append({"by": by, "file": file, "points": plain(points), "triangles": numpy.asarray(triangles).tolist(),
                    "colours": plain(colours), "departures": plain(departures), "normals": plain(normals)})


def by_vtk(file, body):
    data = body.GetPointData()
    array = lambda name: vtk_to_numpy(data.GetArray(name)) if data.GetArray(name) else None
    colours = array("COLOR_0")
    answer("VTK", file, vtk_to_numpy(body.GetPoints().GetData()),
           vtk_to_numpy(body.GetPolys().GetConnectivityArray()).reshape(-1, 3),
           None if colours is None else colours[:, :3], None, array("NORMAL"))


for file, reader in [("ply", vtkPLYReader()), ("glb", vtkGLTFReader())]:
    reader.SetFileName(job[file])
    reader.Update()
    body = reader.GetOutput()
    if file == "glb":
        parts = body.NewIterator()
        parts.InitTraversal()
        body = parts.GetCurrentDataObject()
    by_vtk(file, body)
for file in ("ply", "glb"):
    mesh = open3d.io.read_triangle_mesh(job[file])
    answer("Open3D", file, mesh.vertices, mesh.triangles, mesh.vertex_colors if file == "ply" else None)
mesh = meshio.read(job["ply"])
data = mesh.point_data
answer("meshio", "ply", mesh.points, mesh.cells[0].data,
       numpy.column_stack([data[c].view("uint8") for c in ("red", "green", "blue")]) / 255,  # meshio says int8
       data["departure_mm"])
json.dump(answers, sys.stdout)
