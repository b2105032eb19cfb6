"""
Closed triangle meshes: read, checked, cut into sections, written.

mesh.py       vertices and faces, volume, box, corners that are one joined
limits.py     how large a file or a mesh may be
stl.py        STL, binary and text
threemf.py    3MF: units, components, transforms
package.py    the members of a 3MF file, within limits
reading.py    a file of either kind -> mesh
topology.py   edges and shells of a mesh
crossing.py   faces that pass through one another
turning.py    faces turned to agree and look outwards
uniting.py    the volume of bodies that overlap
faults.py     what is wrong with a mesh, how often, where, and what to do
sections.py   planes through a mesh -> regions with holes
writing.py    mesh -> 3MF (STL: stl.py)
"""
