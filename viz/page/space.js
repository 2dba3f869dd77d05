// The parts of the page in space, drawn by three: what is seen of them, where, cut by which planes.
// Colours are those of the stills: mixed as they are written, lit by the same lights.
window.inSpace = function (element, packed, three) {
  const {
    AmbientLight, BufferAttribute, BufferGeometry, ColorManagement, DirectionalLight, DoubleSide,
    LineBasicMaterial, LineSegments, LinearSRGBColorSpace, Mesh, MeshBasicMaterial,
    MeshLambertMaterial, PerspectiveCamera, Plane, Scene, Vector3, WebGLRenderer,
  } = three;
  ColorManagement.enabled = false;
  const canvas = document.createElement("canvas");
  element.append(canvas);
  const renderer = new WebGLRenderer({ canvas, antialias: true });
  renderer.outputColorSpace = LinearSRGBColorSpace;
  renderer.localClippingEnabled = true;
  renderer.setClearColor(packed.background, 1);
  const scene = new Scene();
  const camera = new PerspectiveCamera(packed.angle, 1, 0.1, 1000);
  // A lamp's strength is what it adds to a face that looks at it.
  scene.add(new AmbientLight("#ffffff", packed.ambient * Math.PI));
  for (const { towards, strength } of packed.lights) {
    const light = new DirectionalLight("#ffffff", packed.diffuse * strength * Math.PI);
    light.position.set(...towards);
    scene.add(light);
  }

  // Arrays are written as steps down their columns.
  const arrays = packed.arrays.map(({ columns, fine, steps }) => {
    const rows = steps.length / columns;
    const values = fine > 1 ? new Float32Array(steps.length) : new Uint32Array(steps.length);
    for (let column = 0; column < columns; column++) {
      let value = 0;
      for (let row = 0; row < rows; row++) {
        value += steps[column * rows + row];
        values[row * columns + column] = value / fine;
      }
    }
    return values;
  });

  const parts = packed.parts.map(({ points, cells, colour, width, cap }) => {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(arrays[points], 3));
    geometry.setIndex(new BufferAttribute(arrays[cells], 1));
    let material;
    if (width) material = new LineBasicMaterial({ color: colour });
    else if (cap) material = new MeshBasicMaterial({ color: colour, side: DoubleSide });
    else material = new MeshLambertMaterial({ color: colour, side: DoubleSide, flatShading: true });
    const body = width ? new LineSegments(geometry, material) : new Mesh(geometry, material);
    geometry.computeBoundingSphere();
    scene.add(body);
    return body;
  });

  return {
    canvas,
    parts,
    /** Show the parts that are seen, lifted and as high as they are drawn. */
    show(seen) { parts.forEach((body, i) => { body.visible = seen(i); }); },
    stand(lift, scale) {
      parts.forEach((body, i) => {
        body.position.z = lift(i);
        body.scale.z = scale(i);
      });
    },
    /** Keep of a part what lies along directions no farther than so far, or, from below, no nearer. */
    cut(i, planes) {
      parts[i].material.clippingPlanes = planes.map(({ direction: [x, y], distance, sign }) =>
        new Plane(new Vector3(sign * x, sign * y, 0), -sign * distance));
    },
    size(wide, high) {
      renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
      renderer.setSize(wide, high, false);
      camera.aspect = wide / high;
    },
    look(position, target, up) {
      camera.up.set(...up);
      camera.position.set(...position);
      camera.lookAt(...target);
      camera.updateMatrixWorld();
      // As near and as far as what is seen lies.
      let [near, far] = [Infinity, 0];
      const toward = new Vector3();
      for (const body of parts) {
        if (!body.visible) continue;
        body.updateMatrixWorld();
        toward.copy(body.geometry.boundingSphere.center).applyMatrix4(body.matrixWorld);
        const depth = -toward.applyMatrix4(camera.matrixWorldInverse).z;
        const round = body.geometry.boundingSphere.radius;
        near = Math.min(near, depth - round);
        far = Math.max(far, depth + round);
      }
      camera.far = Math.max(far, 1) * 1.05;
      camera.near = Math.max(near * 0.95, camera.far * 0.001);
      camera.updateProjectionMatrix();
    },
    draw() { renderer.render(scene, camera); },
    /** The unit vector to the eye, and where a point is drawn: shares of the frame from its top left. */
    back() { return camera.getWorldDirection(new Vector3()).negate().toArray(); },
    at(point) {
      const { x, y } = new Vector3(...point).project(camera);
      return [(x + 1) / 2, (1 - y) / 2];
    },
    picture() {
      this.draw();
      return canvas.toDataURL("image/png");
    },
  };
};
