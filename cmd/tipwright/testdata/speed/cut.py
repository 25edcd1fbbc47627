#!/usr/bin/python3
"""Reads a binary STL as a general-purpose mesh library does, with corners left apart, and cuts it by one plane in
two threads: what SPEED.md holds the measuring of a mesh to. Needs Debian's python3-vtk9."""
import sys
import time

import vtk

vtk.vtkSMPTools.Initialize(2)
begin, processor = time.perf_counter(), time.process_time()
reader = vtk.vtkSTLReader()
reader.SetFileName(sys.argv[1])
reader.MergingOff()
reader.Update()
mesh = reader.GetOutput()
read = time.perf_counter()
plane = vtk.vtkPlane()
plane.SetOrigin(mesh.GetCenter())
plane.SetNormal(0.3, 0.5, 0.8)
cutter = vtk.vtkPlaneCutter()
cutter.SetInputData(mesh)
cutter.SetPlane(plane)
cutter.Update()
end = time.perf_counter()
print(mesh.GetNumberOfPoints(), "corners; read", round(read - begin, 3), "s, cut", round(end - read, 3), "s")
print("spent", time.process_time() - processor, end - begin)
