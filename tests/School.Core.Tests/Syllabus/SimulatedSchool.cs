using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;

namespace School.Core.Tests.Syllabus;

/// <summary>Pupils with known truth, made by a process that is not the forecast's: every skill grows by its own S-shaped law with the hours spent on it,
/// instructors differ in what they teach, how strictly they mark and how often they forget to, learning stands still at times, breaks undo a part,
/// and an hour of practice is worth more to some than to others.</summary>
internal sealed class SimulatedSchool
{
    public const double UsualDifficulty = 0.72;

    private const int Skills = 27;
    private const int Awaited = 23;
    private const int MostLessons = 400;

    private static readonly string[] Keys = [.. Enumerable.Range(1, Skills).Select(i => $"skill-{i}")];

    private readonly Random random;
    private readonly double[] hard;
    private readonly Teacher[] teachers;

    private SimulatedSchool(int seed, double difficulty)
    {
        random = new(seed);
        difficulty = Around(difficulty, 0.15);
        hard = [.. Keys.Select(_ => difficulty * Around(1, 0.4))];
        teachers = [.. Enumerable.Range(0, random.Next(1, 6)).Select(_ =>
            new Teacher(Around(1, 0.12), 0.25 * Normal(), Between(0.2, 0.5), Between(0, 0.25), random.Next(3, 7)))];
    }

    /// <summary>The skills that count in all of them, and the usual weight of practice.</summary>
    public static ReadinessTerms Terms { get; } = new(Keys[..Awaited]);

    /// <summary>The courses of a school's pupils, each up to the lesson after which all counted skills stood at Independent.</summary>
    /// <param name="seed">Same seed, same school.</param>
    /// <param name="pupils">How many.</param>
    /// <param name="difficulty">Hours spent on a skill until it is fairly safe, on average. The usual one brings pupils near the published average.</param>
    public static IReadOnlyList<Course> Courses(int seed, int pupils, double difficulty = UsualDifficulty)
    {
        var school = new SimulatedSchool(seed, difficulty);
        return [.. Enumerable.Range(0, pupils).Select(_ => school.Learn())];
    }

    private Course Learn()
    {
        var pupil = new Pupil(
            hard.Select(hours => hours * Around(1, 0.35)).ToArray(),
            Around(1, 0.3),
            random.Next(10) switch { < 6 => 60, < 8 => 90, _ => 120 },
            Between(0.55, 1),
            random.NextDouble() < 0.45 ? 0 : Between(0.3, 2),
            Between(4, 25),
            Between(0.15, 0.9));
        var teacher = teachers[random.Next(teachers.Length)];
        var next = random.NextDouble() < 0.15 ? teachers[random.Next(teachers.Length)] : teacher;
        var change = random.Next(5, 40);
        var monday = new LocalDate(2021, 1, 4).PlusWeeks(random.Next(156));
        var (lessons, practice, hours) = (new List<TaughtLesson>(), new List<PracticeTime>(), 0.0);
        while (lessons.Count < MostLessons)
        {
            if (lessons.Count > 0 && random.NextDouble() < 1 / 15.0)
            {
                var weeks = random.Next(2, 8);
                pupil.Forget(weeks);
                monday = monday.PlusWeeks(weeks);
            }

            if (random.NextDouble() < pupil.Keenness || lessons.Count == 0)
            {
                lessons.Add(Teach(pupil, lessons.Count < change ? teacher : next, monday.PlusDays(random.Next(4))));
                hours += pupil.Minutes / 60.0;
                if (pupil.Done)
                {
                    break;
                }
            }

            if (pupil.PracticeAWeek > 0 && hours > pupil.PracticeFrom && random.NextDouble() < 0.8)
            {
                var minutes = Math.Max(10, (int)(60 * pupil.PracticeAWeek * Between(0.4, 1.8)));
                pupil.Drive(minutes / 60.0 * pupil.PracticeWorth * pupil.Aptitude, []);
                practice.Add(new(monday.PlusDays(5), minutes));
            }

            monday = monday.PlusWeeks(1);
        }

        return new(lessons, practice);
    }

    private TaughtLesson Teach(Pupil pupil, Teacher teacher, LocalDate on)
    {
        var hours = pupil.Minutes / 60.0;
        if (pupil.Plateau <= 0 && random.NextDouble() < hours / 25)
        {
            pupil.Plateau = Between(3, 10);
        }

        var focus = Focus(pupil, teacher);
        pupil.Drive(hours * pupil.Aptitude * teacher.Skill * (pupil.Plateau > 0 ? 0.25 : 1), focus);
        pupil.Plateau -= hours;
        if (random.NextDouble() < teacher.Forgets)
        {
            return new(on, pupil.Minutes, []);
        }

        foreach (var skill in focus)
        {
            pupil.Marked[skill] = Math.Clamp((int)Math.Round(pupil.Ability(skill) + teacher.Kindness + (teacher.Noise * Normal())), 1, 5);
        }

        return new(on, pupil.Minutes, [.. focus.Select(skill => new SkillMark(Keys[skill], (SkillLevel)pupil.Marked[skill]))]);
    }

    /// <summary>The first open skills, a new one where not too many are open, and now and then one that was done.</summary>
    private List<int> Focus(Pupil pupil, Teacher teacher)
    {
        var open = Enumerable.Range(0, Skills).Where(skill => pupil.Marked[skill] is > 0 and < 4).OrderBy(_ => random.NextDouble()).ToList();
        var focus = open.Take(teacher.Breadth - 1).ToList();
        var fresh = Enumerable.Range(0, Skills).Where(skill => pupil.Marked[skill] == 0).Take(open.Count < 8 ? 2 : 0);
        focus.AddRange(fresh.Take(Math.Max(1, teacher.Breadth - focus.Count)));
        var done = Enumerable.Range(0, Skills).Where(skill => pupil.Marked[skill] >= 4).ToList();
        if (done.Count > 0 && random.NextDouble() < 0.3)
        {
            focus.Add(done[random.Next(done.Count)]);
        }

        return focus;
    }

    private double Around(double middle, double spread) => middle * Math.Exp(spread * Normal());

    private double Between(double low, double high) => low + ((high - low) * random.NextDouble());

    // G. E. P. Box and M. E. Muller (1958).
    private double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    private sealed record Teacher(double Skill, double Kindness, double Noise, double Forgets, int Breadth);

    private sealed record Pupil(
        double[] Hard, double Aptitude, int Minutes, double Keenness, double PracticeAWeek, double PracticeFrom, double PracticeWorth)
    {
        private readonly double[] spent = new double[Skills];

        public int[] Marked { get; } = new int[Skills];

        public double Plateau { get; set; }

        public bool Done => Marked[..Awaited].All(level => level >= 4);

        /// <summary>Three fifths on what the lesson is about, the rest on everything that was begun.</summary>
        public void Drive(double hours, List<int> focus)
        {
            foreach (var skill in focus)
            {
                spent[skill] += 0.6 * hours / focus.Count;
            }

            var begun = Enumerable.Range(0, Skills).Where(skill => Marked[skill] > 0).ToList();
            foreach (var skill in begun)
            {
                spent[skill] += (focus.Count == 0 ? 1 : 0.4) * hours / begun.Count;
            }
        }

        public void Forget(int weeks)
        {
            for (var skill = 0; skill < Skills; skill++)
            {
                spent[skill] *= Math.Pow(0.98, weeks);
            }
        }

        /// <summary>A Weibull law in the hours spent, on the scale of the levels.</summary>
        public double Ability(int skill) => 5 * (1 - Math.Exp(-Math.Pow(spent[skill] / Hard[skill], 1.4)));
    }
}
