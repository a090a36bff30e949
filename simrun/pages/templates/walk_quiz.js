// What comes next, which side, how far to go? Answered on a phone; what was right is kept there alone.

const KEPT = `walk ${document.title}`;
const quiz = { at: 0, right: 0 };

function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEPT)) || [];
  } catch {
    return [];
  }
}

function keep(score) {
  try {
    localStorage.setItem(KEPT, JSON.stringify([...kept(), score].slice(-20)));
  } catch {
    // A phone that keeps nothing asks all the same.
  }
}

function ask() {
  const answers = by("answers");
  answers.replaceChildren();
  if (quiz.at === told.quiz.length) return over();
  const [words, choices, right] = told.quiz[quiz.at];
  by("ask").textContent = `${quiz.at + 1}. ${words}`;
  by("score").textContent = "";
  choices.forEach((choice, k) => {
    const button = answers.appendChild(document.createElement("button"));
    button.type = "button";
    button.textContent = choice;
    button.addEventListener("click", () => answered(k, right));
  });
}

function answered(chosen, right) {
  const buttons = [...by("answers").children];
  if (buttons.some((button) => button.classList.contains("right"))) return;
  buttons[right].classList.add("right");
  if (chosen !== right) buttons[chosen].classList.add("wrong");
  quiz.right += chosen === right ? 1 : 0;
  quiz.at += 1;
  const on = by("answers").appendChild(document.createElement("button"));
  on.type = "button";
  on.textContent = "go on";
  on.addEventListener("click", ask);
  by("score").textContent = `${chosen === right ? "Right." : `No: ${buttons[right].textContent}.`} ${quiz.right} of ${quiz.at} right.`;
}

function over() {
  const before = kept();
  keep(quiz.right);
  by("ask").textContent = `${quiz.right} of ${told.quiz.length} right.`;
  by("score").textContent = before.length ? `Before: ${before.join(", ")}.` : "";
}

function beginQuiz() {
  Object.assign(quiz, { at: 0, right: 0 });
  ask();
}

if (by("again")) {
  by("again").addEventListener("click", beginQuiz);
  beginQuiz();
}
begin();
