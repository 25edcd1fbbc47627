"""Rigid alignment by scipy and by Open3D.

Reads from standard input {"from", "to"}: the same points in two frames, and {"skin", "surface", "normals"}: points
that lie near a surface given by points with normals. Answers with {"rotation", "shift", "scale"}, which take the first
to the second in the sense of least squares, the rotation by scipy, and by a singular value decomposition of numpy
("kabsch"), and with "settled", the 4 x 4 matrix by which Open3D's iterated closest points bring the skin to the
surface.
"""
import json
import sys

import numpy
import open3d
from scipy.spatial.transform import Rotation

open3d.utility.set_verbosity_level(open3d.utility.VerbosityLevel.Error)
job = json.load(sys.stdin)
a, b = numpy.array(job["from"]), numpy.array(job["to"])
pa, pb = a - a.mean(axis=0), b - b.mean(axis=0)
rotation = Rotation.align_vectors(pb, pa)[0].as_matrix()
u, d, vt = numpy.linalg.svd(pb.T @ pa)
mirror = numpy.diag([1, 1, numpy.sign(numpy.linalg.det(u @ vt))])
scale = numpy.trace(numpy.diag(d) @ mirror) / (pa ** 2).sum()

skin = open3d.geometry.PointCloud(open3d.utility.Vector3dVector(numpy.array(job["skin"])))
surface = open3d.geometry.PointCloud(open3d.utility.Vector3dVector(numpy.array(job["surface"])))
surface.normals = open3d.utility.Vector3dVector(numpy.array(job["normals"]))
icp = open3d.pipelines.registration
how = icp.TransformationEstimationPointToPlane(icp.TukeyLoss(k=2.0))
found = icp.registration_icp(skin, surface, 8.0, numpy.eye(4), how, icp.ICPConvergenceCriteria(1e-12, 1e-12, 60))

json.dump({
    "rotation": rotation.tolist(), "kabsch": (u @ mirror @ vt).tolist(), "scale": scale,
    "shift": (b.mean(axis=0) - scale * rotation @ a.mean(axis=0)).tolist(), "settled": found.transformation.tolist(),
}, sys.stdout)
