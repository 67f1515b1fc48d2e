// Picks a place on a map for a field of latitude and longitude. Without this file the field is typed into.
(() => {
  'use strict';
  const street = 16, town = 12;
  const country = { at: [54, -3], zoom: 5 }; // Great Britain, where nothing is known yet
  const decimals = 5; // about a metre

  const make = (tag, attributes, ...content) => {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    element.append(...content);
    return element;
  };
  const button = (words, press, attributes = {}) => {
    const made = make('button', { type: 'button', ...attributes }, words);
    made.addEventListener('click', press);
    return made;
  };

  // What the server reads too: "lat, lon" or a geo: address.
  const read = text => {
    const found = /^\s*(?:geo:)?([+-]?\d*\.?\d+)\s*,\s*([+-]?\d*\.?\d+)/i.exec(text ?? '');
    const [lat, lon] = found ? [Number(found[1]), Number(found[2])] : [];
    return found && Math.abs(lat) <= 90 && Math.abs(lon) <= 180 ? [lat, lon] : null;
  };
  const write = at => [at.lat, at.lng].map(n => (Math.round(n * 10 ** decimals) / 10 ** decimals).toFixed(decimals)).join(', ');

  const pin = () => {
    const drawing = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    drawing.setAttribute('viewBox', '0 0 32 44');
    for (const [tag, attributes] of [
      ['path', { class: 'pin-body', d: 'M16 42C11 32 3 25 3 15a13 13 0 0 1 26 0c0 10-8 17-13 27Z' }],
      ['circle', { class: 'pin-eye', cx: 16, cy: 15, r: 5 }],
    ]) {
      const part = document.createElementNS(drawing.namespaceURI, tag);
      for (const [name, value] of Object.entries(attributes)) part.setAttribute(name, value);
      drawing.append(part);
    }
    return L.divIcon({ html: drawing, className: 'pin', iconSize: [32, 44], iconAnchor: [16, 42] });
  };

  const open = (field, frame, say) => {
    const maxZoom = Number(field.dataset.mapZoom);
    const moves = !matchMedia('(prefers-reduced-motion: reduce)').matches;
    const map = L.map(frame, {
      attributionControl: false, zoomControl: false, scrollWheelZoom: false, maxZoom,
      zoomAnimation: moves, fadeAnimation: moves, markerZoomAnimation: moves, inertia: moves,
    });
    if (!moves) map.panBy = offset => L.Map.prototype.panBy.call(map, offset, { animate: false });
    const look = (at, zoom) => map.setView(at, Math.min(zoom, maxZoom), { animate: false });
    let marker = null;

    const put = at => {
      if (marker) marker.setLatLng(at);
      else {
        marker = L.marker(at, { icon: pin(), draggable: true, keyboard: false }).addTo(map);
        marker.on('dragend', () => choose(marker.getLatLng()));
      }
    };
    const choose = at => {
      const place = at.wrap();
      put(place);
      field.value = write(place);
      field.dispatchEvent(new Event('change', { bubbles: true }));
      say(`The pin is at ${field.value}.`);
    };

    const typed = read(field.value), around = read(field.dataset.mapAround);
    if (typed) put(typed);
    look(typed ?? around ?? country.at, typed ? street : around ? town : country.zoom);
    field.addEventListener('input', () => {
      const at = read(field.value);
      if (!at) return;
      put(at);
      look(at, Math.max(map.getZoom(), town));
    });

    L.tileLayer(field.dataset.mapTiles, { maxZoom }).addTo(map).once('tileerror', () =>
      say('Some of the map did not arrive. The position can also be typed.'));
    map.on('click', event => choose(event.latlng));
    // The wheel scrolls the page until somebody is in the map.
    map.on('focus', () => map.scrollWheelZoom.enable());
    map.on('blur', () => map.scrollWheelZoom.disable());
    return { map, chooseMiddle: () => choose(map.getCenter()) };
  };

  const equip = field => {
    let picker = null;
    const status = make('p', { class: 'map-said', role: 'status' });
    const say = words => { status.textContent = words; };
    const frame = make('div', { class: 'map', role: 'application', tabindex: '0', 'aria-label': 'Map. The arrow keys move it, plus and minus zoom.' });
    const toggle = button('Choose on a map', () => show(panel.hidden), { 'aria-expanded': 'false', 'aria-controls': `${field.id}-map` });
    const panel = make('div', { class: 'map-panel no-print', id: `${field.id}-map`, hidden: '' },
      make('p', { class: 'hint' }, 'Tap or click the place, or drag the pin. Without a pointer: move the map with the arrow keys and use its middle.'),
      make('div', { class: 'map-frame' }, frame,
        make('div', { class: 'map-zoom' },
          button('+', () => picker.map.zoomIn(), { 'aria-label': 'Zoom in' }),
          button('\u2212', () => picker.map.zoomOut(), { 'aria-label': 'Zoom out' }))),
      make('p', { class: 'map-source' }, field.dataset.mapSource),
      make('div', { class: 'do' },
        button('Use the middle of the map', () => picker.chooseMiddle()),
        button('Close the map', () => { show(false); toggle.focus(); })),
      status);

    const show = visible => {
      panel.hidden = !visible;
      toggle.setAttribute('aria-expanded', visible);
      if (!visible) return;
      if (picker) picker.map.invalidateSize();
      else picker = open(field, frame, say);
    };

    const row = make('div', { class: 'beside' });
    field.before(row);
    row.append(field, toggle);
    row.after(panel);
  };

  for (const field of document.querySelectorAll('input[data-map-tiles]')) equip(field);
})();
