// On a narrow screen the bar scrolls: the page that is open is brought into view.
const here = document.querySelector(".topbar [aria-current]");
const bar = document.querySelector(".topbar ul");
if (here && bar) bar.scrollLeft = here.parentElement.offsetLeft - (bar.clientWidth - here.offsetWidth) / 2;
