"""Reads a 3MF with lib3MF (Debian package lib3mf1, version 1.8.1) and prints its build items as JSON: name and type of the object, part number,
transform (12 numbers, row vectors), counts and volume. Usage: python3 read-3mf.py FILE [path of lib3MF.so]; with '' for the file it only loads the library."""
import ctypes
import ctypes.util
import json
import sys

path = sys.argv[2] if len(sys.argv) > 2 else ctypes.util.find_library('3MF')
if path is None:
    sys.exit('lib3MF is not installed')
lib = ctypes.CDLL(path)
if len(sys.argv) < 2 or sys.argv[1] == '':
    sys.exit(0)

P = ctypes.c_void_p
TYPES = {0: 'other', 1: 'model', 2: 'support', 3: 'solidsupport'}


def call(name, *arguments):
    result = getattr(lib, name)(*arguments)
    if result != 0:
        sys.exit(f'{name}: error {result & 0xFFFFFFFF:#x}')


def out_pointer(name, *arguments):
    got = P()
    call(name, *arguments, ctypes.byref(got))
    return got


def out_number(name, *arguments):
    got = ctypes.c_uint32()
    call(name, *arguments, ctypes.byref(got))
    return got.value


def text(name, handle):
    buffer = ctypes.create_string_buffer(4096)
    needed = ctypes.c_uint32()
    call(name, handle, buffer, ctypes.c_uint32(4096), ctypes.byref(needed))
    return buffer.value.decode()


def volume(mesh, triangles):
    v = (ctypes.c_float * 3)()
    t = (ctypes.c_uint32 * 3)()
    points = []
    for i in range(out_number('lib3mf_meshobject_getvertexcount', mesh)):
        call('lib3mf_meshobject_getvertex', mesh, ctypes.c_uint32(i), ctypes.byref(v))
        points.append((v[0], v[1], v[2]))
    total = 0.0
    for k in range(triangles):
        call('lib3mf_meshobject_gettriangle', mesh, ctypes.c_uint32(k), ctypes.byref(t))
        a, b, c = points[t[0]], points[t[1]], points[t[2]]
        total += (
            a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        )
    return total / 6


model = out_pointer('lib3mf_createmodel')
reader = out_pointer('lib3mf_model_queryreader', model, ctypes.c_char_p(b'3mf'))
call('lib3mf_reader_readfromfileutf8', reader, ctypes.c_char_p(sys.argv[1].encode()))
warnings = out_number('lib3mf_reader_getwarningcount', reader)
items = []
iterator = out_pointer('lib3mf_model_getbuilditems', model)
while out_number('lib3mf_builditemiterator_movenext', iterator):
    item = out_pointer('lib3mf_builditemiterator_getcurrent', iterator)
    mesh = out_pointer('lib3mf_builditem_getobjectresource', item)
    fields = (ctypes.c_float * 12)()
    call('lib3mf_builditem_getobjecttransform', item, ctypes.byref(fields))
    triangles = out_number('lib3mf_meshobject_gettrianglecount', mesh)
    items.append(
        {
            'name': text('lib3mf_object_getnameutf8', mesh),
            'type': TYPES[out_number('lib3mf_object_gettype', mesh)],
            'partNumber': text('lib3mf_builditem_getpartnumberutf8', item),
            # The library keeps it for column vectors, three rows of four; the file has row vectors, the shift last.
            'transform': [fields[4 * i + j] for j in range(4) for i in range(3)],
            'triangles': triangles,
            'volumeMm3': volume(mesh, triangles),
        }
    )
print(json.dumps({'warnings': warnings, 'items': items}))
