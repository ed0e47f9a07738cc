# python3 in_vtk.py FILE: VTK's reader (merging points), feature edges and mass properties; prints one line of JSON.
import json
import resource
import sys
import time

from vtkmodules.vtkCommonCore import vtkVersion
from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkMassProperties
from vtkmodules.vtkIOGeometry import vtkSTLReader


def cpu_ms():
    use = resource.getrusage(resource.RUSAGE_SELF)
    return (use.ru_utime + use.ru_stime) * 1e3


t0, c0 = time.perf_counter(), cpu_ms()
reader = vtkSTLReader()
reader.SetFileName(sys.argv[1])
reader.MergingOn()
reader.Update()
t1 = time.perf_counter()
edges = vtkFeatureEdges()
edges.SetInputConnection(reader.GetOutputPort())
edges.BoundaryEdgesOn()
edges.NonManifoldEdgesOn()
edges.FeatureEdgesOff()
edges.ManifoldEdgesOff()
edges.Update()
t2 = time.perf_counter()
mass = vtkMassProperties()
mass.SetInputConnection(reader.GetOutputPort())
mass.Update()
volume = mass.GetVolume()
t3, c3 = time.perf_counter(), cpu_ms()
print(json.dumps({
    "readMs": (t1 - t0) * 1e3,
    "topologyMs": (t2 - t1) * 1e3,
    "massMs": (t3 - t2) * 1e3,
    "totalMs": (t3 - t0) * 1e3,
    "cpuMs": c3 - c0,
    "vertices": reader.GetOutput().GetNumberOfPoints(),
    "badEdges": edges.GetOutput().GetNumberOfCells(),
    "volume": volume,
    "version": vtkVersion.GetVTKVersion(),
    "peakMb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3,
}))
