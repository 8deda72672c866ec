// Live refresh, previews, and care for what was typed and not yet written. Everything on the page
// works without this file.
(() => {
  'use strict';
  const main = document.getElementById('main');
  const lost = document.getElementById('lost');
  if (!main) return;
  const store = {
    get(key) { try { return localStorage.getItem(key); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, value); } catch { /* full or forbidden */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* forbidden */ } },
  };
  // One device may have been used for several books.
  const book = document.body.dataset.book || '';
  const draft = (key) => 'draft ' + book + ' ' + key;
  const draftOf = (form) => draft(form.dataset.key);
  // A form's number is kept with it: sent again after a lost answer, it is known to be the same;
  // and so is what a text was made from.
  const keeps = (field) => ['once', 'base'].includes(field.name) ||
    field.name && !['hidden', 'file', 'submit', 'button'].includes(field.type);

  // ---- what was typed and not yet written ----

  function read(form) {
    const values = {};
    for (const field of form.elements) {
      if (!keeps(field)) continue;
      if (field.type === 'radio' || field.type === 'checkbox') {
        if (field.checked) values[field.name] = field.value;
        else if (field.type === 'checkbox') values[field.name] = '';
      } else values[field.name] = field.value;
    }
    return values;
  }

  function put(form, values) {
    for (const field of form.elements) {
      if (!keeps(field) || !(field.name in values)) continue;
      const value = values[field.name];
      if (field.type === 'radio' || field.type === 'checkbox') field.checked = field.value === value;
      else field.value = value;
    }
  }

  function sayUnsent(form, is) {
    let line = form.querySelector('.unsent');
    if (!is) { line?.remove(); return; }
    if (line) return;
    line = document.createElement('p');
    line.className = 'unsent';
    line.setAttribute('role', 'status');
    line.textContent = 'Not written yet: kept on this device only. ';
    const away = document.createElement('button');
    away.type = 'button';
    away.textContent = 'Throw it away';
    away.addEventListener('click', () => {
      store.drop(draftOf(form));
      form.reset();
      sayUnsent(form, false);
      preview(form);
    });
    line.append(away);
    form.prepend(line);
  }

  function restore(root) {
    for (const form of root.querySelectorAll('form[data-key]')) {
      const kept = store.get(draftOf(form));
      if (!kept) continue;
      try { put(form, JSON.parse(kept)); sayUnsent(form, true); } catch { store.drop(draftOf(form)); }
    }
  }

  function forgetWritten() {
    const url = new URL(location.href);
    const key = url.searchParams.get('form');
    if (!key) return;
    store.drop(draft(key));
    url.searchParams.delete('form');
    url.searchParams.delete('wrote');
    history.replaceState(null, '', url);
  }

  document.addEventListener('input', (event) => {
    const form = event.target.form;
    if (!form) return;
    if (form.dataset.key) {
      store.set(draftOf(form), JSON.stringify(read(form)));
      sayUnsent(form, true);
    }
    preview(form);
  });

  // ---- Enter goes on to the next field, and writes nothing ----

  const TYPED = ['text', 'search', 'number', 'date', 'checkbox', 'radio', 'file'];
  document.addEventListener('keydown', (event) => {
    const field = event.target;
    const form = field.form;
    if (event.key !== 'Enter' || event.isComposing || !form || !form.dataset.key) return;
    if (field.tagName !== 'SELECT' && !TYPED.includes(field.type)) return;
    event.preventDefault();
    const stops = [...form.elements].filter((one) => one.type !== 'hidden' && !one.disabled &&
      one.tabIndex >= 0 && one.checkVisibility());
    stops[stops.indexOf(field) + 1]?.focus();
  });

  document.addEventListener('submit', (event) => {
    const form = event.target;
    if (form.method !== 'post') return;
    if (lost && !lost.hidden) {
      event.preventDefault();
      lost.scrollIntoView();
      if (form.dataset.key) {
        store.set(draftOf(form), JSON.stringify(read(form)));
        sayUnsent(form, true);
      }
      return;
    }
    // A greasy thumb taps twice.
    if (form.dataset.sending) { event.preventDefault(); return; }
    form.dataset.sending = 'yes';
    keepPlace();
    setTimeout(() => { delete form.dataset.sending; }, 4000);
  });

  // ---- told where it is seen ----

  const told = document.getElementById('told');
  const PLACE = 'place';
  const TOLD_MS = 8000;

  /** Where the screen stands, for the answer to what is sent now. */
  function keepPlace() {
    try {
      sessionStorage.setItem(PLACE, JSON.stringify([location.pathname, scrollY]));
    } catch { /* forbidden */ }
  }

  function standThere() {
    let kept = null;
    try {
      kept = JSON.parse(sessionStorage.getItem(PLACE));
      sessionStorage.removeItem(PLACE);
    } catch { /* forbidden, or not ours */ }
    if (!told) return;
    if (told.classList.contains('refused')) {
      const wrong = main.querySelector('[aria-invalid=true]') ?? main.querySelector('.wrong');
      if (!wrong) return;
      for (let fold = wrong.closest('details'); fold; fold = fold.parentElement.closest('details')) {
        fold.open = true;
      }
      wrong.focus({ preventScroll: true });
      wrong.scrollIntoView({ block: 'center', behavior: 'instant' });
      return;
    }
    if (kept && kept[0] === location.pathname) scrollTo({ top: kept[1], behavior: 'instant' });
    setTimeout(() => { told.hidden = true; }, TOLD_MS);
  }

  // ---- previews ----

  const waiting = new WeakMap();
  function preview(form) {
    const path = form.dataset.preview;
    if (!path) return;
    for (const out of form.querySelectorAll('output[for]')) {
      const field = document.getElementById(out.htmlFor.value);
      if (field) out.textContent = field.value;
    }
    const target = document.getElementById(form.dataset.into);
    if (!target) return;
    clearTimeout(waiting.get(form));
    waiting.set(form, setTimeout(async () => {
      const asked = new URLSearchParams(new FormData(form)).toString();
      target.dataset.asked = asked;
      try {
        const answer = await fetch(path + '?' + asked, { headers: { accept: 'text/html' } });
        const html = await answer.text();
        if (answer.ok && target.dataset.asked === asked) target.innerHTML = html;
      } catch { /* said by the line for a lost connection */ }
    }, 180));
  }

  // ---- step timer ----

  function timer(root) {
    for (const box of root.querySelectorAll('[data-timer]')) {
      const key = 'timer ' + book + ' ' + box.dataset.timer;
      const field = document.getElementById(box.dataset.into);
      if (!field || box.querySelector('button')) continue;
      const button = document.createElement('button');
      button.type = 'button';
      const show = () => {
        const since = Number(store.get(key));
        button.textContent = since
          ? 'Stop the clock (' + Math.floor((Date.now() - since) / 60000) + ' min)'
          : 'Start the clock';
      };
      button.addEventListener('click', () => {
        const since = Number(store.get(key));
        if (since) {
          field.value = String(Math.max(1, Math.round((Date.now() - since) / 60000)));
          store.drop(key);
          field.dispatchEvent(new Event('input', { bubbles: true }));
        } else store.set(key, String(Date.now()));
        show();
      });
      show();
      box.append(button);
      box.hidden = false;
      setInterval(() => { if (button.isConnected) show(); }, 20000);
    }
  }

  // ---- live ----

  let seq = Number(document.body.dataset.seq) || 0;
  let busy = false;
  let again = false;

  async function refresh() {
    if (busy) { again = true; return; }
    busy = true;
    try {
      const answer = await fetch(location.href, { headers: { accept: 'text/html' } });
      if (answer.ok) {
        const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
        const fresh = page.getElementById('main');
        if (fresh) swap(fresh);
        const now = Number(page.body.dataset.seq);
        if (now) { seq = now; document.body.dataset.seq = String(now); }
        document.body.toggleAttribute('data-stale', 'stale' in page.body.dataset);
        if (lost && !events) lost.hidden = true;
      }
    } catch {
      // Where a stream listens, it says so itself.
      if (lost && !events) lost.hidden = false;
    }
    busy = false;
    if (again) { again = false; refresh(); }
  }

  function swap(fresh) {
    const before = [...main.querySelectorAll('form[data-key]')].filter((form) =>
      store.get(draftOf(form)));
    const open = new Set([...main.querySelectorAll('details[open][id]')].map((d) => d.id));
    const at = document.activeElement;
    const had = at && main.contains(at) && at.id ? at.id : null;
    const mark = had && 'selectionStart' in at ? [at.selectionStart, at.selectionEnd] : null;
    // A form that somebody is typing into stays as it is, file fields and all.
    for (const form of before) {
      const same = fresh.querySelector('form[data-key="' + CSS.escape(form.dataset.key) + '"]');
      if (same) same.replaceWith(form);
    }
    // What somebody has asked for with a slider stays, too.
    for (const form of main.querySelectorAll('form[data-preview][method=get]')) {
      const target = document.getElementById(form.dataset.into);
      const same = fresh.querySelector('form[action="' + CSS.escape(form.getAttribute('action')) + '"]');
      const into = fresh.querySelector('#' + CSS.escape(form.dataset.into));
      if (same && into && target) { same.replaceWith(form); into.replaceWith(target); }
    }
    main.replaceChildren(...fresh.childNodes);
    // What stayed is asked for again: what it shows may not hold any more.
    for (const form of main.querySelectorAll('form[data-preview]')) {
      if (before.includes(form) || form.method === 'get') preview(form);
    }
    for (const id of open) {
      const fold = document.getElementById(id);
      if (fold) fold.open = true;
    }
    restore(main);
    timer(main);
    const back = had && document.getElementById(had);
    if (back) {
      back.focus({ preventScroll: true });
      if (mark && mark[0] !== null) {
        try { back.setSelectionRange(mark[0], mark[1]); } catch { /* not a text */ }
      }
    }
  }

  // After a restart the program knows no device any more; this one is told so.
  async function pairAgain() {
    try {
      const answer = await fetch('/all', { headers: { accept: 'text/html' } });
      if (new URL(answer.url).pathname === '/pair') location.href = answer.url;
    } catch { /* said by the line for a lost connection */ }
  }

  // A browser has six connections to a page. A tab that nobody looks at lets go of its own, and of
  // those that are looked at only the last few listen; the others ask now and then.
  let events = null;
  let later = 0;

  function listen() {
    if (events || document.hidden) return;
    clearTimeout(later);
    events = new EventSource('/events');
    events.addEventListener('change', (event) => {
      if (lost) lost.hidden = true;
      // Figures come a moment after the entry they follow from, under the same number.
      if (Number(event.data) !== seq || 'stale' in document.body.dataset) {
        seq = Number(event.data);
        refresh();
      }
    });
    events.addEventListener('standing', refresh);
    events.addEventListener('enough', hush);
    events.onopen = () => { if (lost) lost.hidden = true; };
    events.onerror = () => {
      if (lost) lost.hidden = false;
      if (events && events.readyState === EventSource.CLOSED) {
        hush();
        later = setTimeout(listen, 2000);
        pairAgain();
      }
    };
  }

  function hush() {
    clearTimeout(later);
    if (events) events.close();
    events = null;
  }

  document.addEventListener('visibilitychange', () => { if (document.hidden) hush(); else listen(); });
  window.addEventListener('focus', listen);
  window.addEventListener('pagehide', hush);
  window.addEventListener('pageshow', listen);
  setInterval(() => { if (!events && !document.hidden) refresh(); }, 20000);

  forgetWritten();
  restore(main);
  timer(main);
  // Once the browser has gone to the place that the address names.
  addEventListener('load', () => setTimeout(standThere));
  listen();
})();
