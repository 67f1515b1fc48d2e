// Fills a field of latitude and longitude from a map or from where the device is. Without this file the field is typed into.
(() => {
  'use strict';
  const street = 16, town = 12;
  const country = { at: [54, -3], zoom: 5 }; // Great Britain, where nothing is known yet
  const decimals = 5; // about a metre
  const rough = 100, tooRough = 1000, far = 5000; // metres
  const patience = 20000; // milliseconds
  const closest = 17; // where there are no tiles that end sooner

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

  // The library is fetched when the first map opens.
  let library = null;
  const load = () => library ??= new Promise((resolve, reject) => {
    const script = make('script', { src: document.getElementById('map-library').src });
    script.addEventListener('load', resolve);
    script.addEventListener('error', () => { library = null; reject(new Error('no map')); });
    document.head.append(script);
  });
  const metres = (from, to) => {
    const [a, b] = [from.lat, to.lat].map(degrees => degrees * Math.PI / 180), turn = (to.lng - from.lng) * Math.PI / 180;
    return 6371000 * Math.acos(Math.min(1, Math.sin(a) * Math.sin(b) + Math.cos(a) * Math.cos(b) * Math.cos(turn)));
  };

  // What the server reads too: "lat, lon" or a geo: address.
  const read = text => {
    const found = /^\s*(?:geo:)?([+-]?\d*\.?\d+)\s*,\s*([+-]?\d*\.?\d+)/i.exec(text ?? '');
    const [lat, lon] = found ? [Number(found[1]), Number(found[2])] : [];
    return found && Math.abs(lat) <= 90 && Math.abs(lon) <= 180 ? [lat, lon] : null;
  };
  const write = at => [at.lat, at.lng].map(n => (Math.round(n * 10 ** decimals) / 10 ** decimals).toFixed(decimals)).join(', ');

  // A place that has a position is no longer to be found.
  const enter = (field, at) => {
    field.value = write(at);
    const open = [...field.form?.elements ?? []].find(other => other.type === 'checkbox' && other.name === field.name.replace(/Position$/, 'ToBeFound'));
    if (open) open.checked = false;
  };

  const length = metres => metres < 950 ? `${Math.round(metres / 10) * 10} m` : `${(metres / 1000).toFixed(metres < 9950 ? 1 : 0)} km`;
  const winds = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'];
  const wind = (from, to) => {
    const east = (to.lng - from.lng) * Math.cos(from.lat * Math.PI / 180);
    return winds[(Math.round(Math.atan2(east, to.lat - from.lat) / (Math.PI / 4)) + winds.length) % winds.length];
  };

  // Without tiles: the places that are known, by name, and a scale.
  const ground = async field => {
    const answer = await fetch(field.dataset.map, { redirect: 'error', headers: { Accept: 'application/json' } });
    if (!answer.ok) throw new Error('no places');
    return answer.json();
  };
  const drawGround = (map, places) => {
    L.control.scale({ imperial: false, position: 'bottomleft' }).addTo(map);
    for (const { label, latitude, longitude } of places) {
      const words = make('span', {}, label);
      L.circleMarker([latitude, longitude], { radius: 6, className: 'known', interactive: false })
        .bindTooltip(words, { permanent: true, direction: 'right', offset: [8, 0], className: 'known-name' }).addTo(map);
    }
  };

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

  const open = async (field, frame, say) => {
    const maxZoom = Number(field.dataset.mapZoom ?? closest);
    const [places] = await Promise.all([field.dataset.mapTiles ? [] : ground(field).catch(() => null), load()]);
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
      enter(field, place);
      field.dispatchEvent(new Event('change', { bubbles: true }));
      const near = (places ?? []).map(one => ({ ...one, at: { lat: one.latitude, lng: one.longitude } }))
        .sort((a, b) => metres(a.at, place) - metres(b.at, place))[0];
      const away = near ? metres(near.at, place) : 0;
      const from = !near ? '' : away < 10 ? `, at ${near.label}` : `, ${length(away)} ${wind(near.at, place)} of ${near.label}`;
      say(`The pin is at ${field.value}${from}.`);
    };

    const typed = read(field.value), around = read(field.dataset.mapAround);
    if (typed) put(typed);
    if (places?.length && !typed) {
      const all = places.map(one => [one.latitude, one.longitude]);
      map.fitBounds(around ? [...all, around] : all, { padding: [40, 40], maxZoom: town, animate: false });
    } else look(typed ?? around ?? country.at, typed ? (field.dataset.mapTiles ? street : town + 1) : around ? town : country.zoom);
    field.addEventListener('input', () => {
      const at = read(field.value);
      if (!at) return;
      put(at);
      look(at, Math.max(map.getZoom(), town));
    });

    const missing = () => say('Some of the map did not arrive. The position can also be typed.');
    if (field.dataset.mapTiles) L.tileLayer(field.dataset.mapTiles, { maxZoom }).addTo(map).once('tileerror', missing);
    else if (!places) missing();
    else if (places.length === 0) say('The school knows no places yet, so there is nothing to draw. Enter the postcode, or the position.');
    else drawGround(map, places);
    map.on('click', event => choose(event.latlng));
    // The wheel scrolls the page until somebody is in the map.
    map.on('focus', () => map.scrollWheelZoom.enable());
    map.on('blur', () => map.scrollWheelZoom.disable());
    // Who came to the frame before the library did is heard from now on.
    if (document.activeElement === frame) {
      frame.blur();
      frame.focus({ preventScroll: true });
    }

    return { map, chooseMiddle: () => choose(map.getCenter()) };
  };

  const equip = field => {
    let picker = null;
    const status = make('p', { class: 'map-said', role: 'status' });
    const say = words => { status.textContent = words; };
    const withMap = act => picker ? act(picker) : say('The map is not there yet. The position can also be typed.');
    const frame = make('div', { class: 'map', role: 'application', tabindex: '0', 'aria-label': 'Map. The arrow keys move it, plus and minus zoom.' });
    const toggle = button('Choose on a map', () => show(panel.hidden), { 'aria-expanded': 'false', 'aria-controls': `${field.id}-map` });
    const panel = make('div', { class: 'map-panel no-print', id: `${field.id}-map`, hidden: '' },
      make('p', { class: 'hint' }, 'Tap or click the place, or drag the pin. Without a pointer: move the map with the arrow keys and use its middle.'),
      make('div', { class: 'map-frame' }, frame,
        make('div', { class: 'map-zoom' },
          button('+', () => withMap(({ map }) => map.zoomIn()), { 'aria-label': 'Zoom in' }),
          button('\u2212', () => withMap(({ map }) => map.zoomOut()), { 'aria-label': 'Zoom out' }))),
      make('p', { class: 'map-source' }, field.dataset.mapSource ?? (field.dataset.mapTiles ? '' : 'No streets are loaded here: the dots are the places that the school knows.')),
      make('div', { class: 'do' },
        button('Use the middle of the map', () => withMap(opened => opened.chooseMiddle())),
        button('Close the map', () => { show(false); toggle.focus(); })),
      status);

    let opening = null;
    const show = async visible => {
      panel.hidden = !visible;
      toggle.setAttribute('aria-expanded', visible);
      if (!visible) return;
      if (picker) picker.map.invalidateSize();
      else {
        try { picker = await (opening ??= open(field, frame, say)); }
        catch {
          opening = null;
          say('The map did not arrive. The position can also be typed.');
        }
      }
    };

    const row = make('div', { class: 'beside' });
    const told = make('p', { class: 'here-said', role: 'status' });
    field.before(row);
    row.append(field);
    if (isSecureContext && 'geolocation' in navigator) row.append(button('Where I am now', event => here(field, event.currentTarget, words => { told.textContent = words; })));
    row.append(toggle);
    row.after(told, panel);
  };

  // The device is asked only on press, and once.
  const here = (field, pressed, say) => {
    if (pressed.getAttribute('aria-disabled') === 'true') return;
    const before = field.value;
    let waits = true;
    pressed.setAttribute('aria-disabled', 'true');
    say('Asking the device where it is …');
    const done = words => {
      if (!waits) return;
      waits = false;
      clearTimeout(limit);
      pressed.removeAttribute('aria-disabled');
      say(words);
    };
    // The device counts only from the moment it is allowed to tell; a question that nobody answers has no end of its own.
    const limit = setTimeout(() => done('The device did not find out where it is in time. Try again outside, or enter the postcode.'), 2 * patience);
    navigator.geolocation.getCurrentPosition(({ coords }) => {
      if (!waits) return;
      if (field.value !== before) {
        done('Something else was entered meanwhile, so nothing was changed.');
        return;
      }

      if (!(coords.accuracy <= tooRough)) {
        done(`The device knows where it is only to about ${length(coords.accuracy)}, which is too rough for a place to meet. Nothing was changed. Try again outside, or enter the postcode.`);
        return;
      }

      const at = { lat: coords.latitude, lng: coords.longitude }, stood = read(field.defaultValue), around = stood ?? read(field.dataset.mapAround);
      enter(field, at);
      field.dispatchEvent(new Event('input', { bubbles: true }));
      field.dispatchEvent(new Event('change', { bubbles: true }));
      const away = around ? metres({ lat: around[0], lng: around[1] }, at) : 0;
      done(`This place was entered, to about ${length(coords.accuracy)}.`
        + (coords.accuracy > rough ? ' Check it on the map.' : '')
        + (away > far ? ` It is ${length(away)} from ${stood ? 'the place that stood here' : 'where lessons usually begin'}: is it right?` : ''));
    }, problem => done(problem.code === problem.PERMISSION_DENIED
      ? 'The device may not tell this page where it is. Allow it in the browser’s settings, or enter the postcode.'
      : problem.code === problem.TIMEOUT
        ? 'The device did not find out where it is in time. Try again outside, or enter the postcode.'
        : 'The device cannot tell where it is. Enter the postcode, or choose the place on the map.'),
    { enableHighAccuracy: true, timeout: patience, maximumAge: 0 });
  };

  for (const field of document.querySelectorAll('input[data-map]')) equip(field);
})();
