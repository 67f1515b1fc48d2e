using School.Core.Syllabus;

namespace School.Web.Demo;

/// <summary>What instructors and pupils of the made-up school say about lessons.</summary>
internal static class DemoWords
{
    /// <summary>Of a lesson of which no skill is written down: it tells of none.</summary>
    public static readonly string[] Plain =
    [
        "A quiet lesson after a busy week; we kept to what you know.", "We drove what you asked for and left new things for next time.",
        "A good talk at the start, then an easy round.", "You were well awake today, and it showed.",
        "Shorter today because of the road closure; we make it up next time.", "You asked good questions. Bring the next ones too.",
    ];

    /// <summary>What a pupil says about a lesson, and the skill that it is about; null where it is about none.</summary>
    private static readonly (string? Skill, string Words)[] Reflections =
    [
        (null, "I liked that we talked it through before trying it."),
        (null, "The second half felt much calmer than the first."),
        ("controls-and-instruments", "I still look down at the switches. I will practise with my eyes up."),
        ("roundabouts", "Big roundabouts scare me a bit. Can we do the one by the quarry again?"),
        ("anticipation-and-planning", "I noticed the cyclist late. I want to look further ahead."),
        ("junctions", "Good to know that waiting is not a mistake."),
        ("mirrors", "I was nervous about the car behind me until you said to let it be."),
        ("cockpit-checks", "I will practise the cockpit checks in our car at home."),
    ];

    /// <summary>What can be said about a lesson that covered these skills.</summary>
    public static IReadOnlyList<string> ReflectionsOn(IReadOnlyCollection<string> covered) =>
        [.. Reflections.Where(reflection => reflection.Skill is null || covered.Contains(reflection.Skill)).Select(reflection => reflection.Words)];

    private static readonly Dictionary<string, (string Note, string Aim)> BySkill = new()
    {
        ["legal-responsibilities"] = ("You know what the car and you need before a drive.", "Bring the licence and tell me what makes a driver unfit."),
        ["safety-checks"] = ("You found the fluids and the tyres by yourself.", "Walk round the car and say what you look for."),
        ["cockpit-checks"] = ("The seat and mirrors were right before I asked.", "All checks in order without a word from me."),
        ["security"] = ("You left the car safe and locked without a prompt.", "The same on a hill, wheels turned."),
        ["controls-and-instruments"] = ("Your feet find the pedals now; the wheel stays light.", "Find every switch with your eyes on the road."),
        ["moving-away-and-stopping"] = ("Six quiet starts, and soft stops to finish.", "Moving off uphill without rolling back."),
        ["safe-positioning"] = ("A steady line, and a door’s width from the parked cars.", "Hold that line where the road narrows."),
        ["mirrors"] = ("Mirrors before signals came by themselves today.", "Say what you saw, not that you looked."),
        ["signals"] = ("Signals in good time, and none that misled.", "Decide each time who the signal is for."),
        ["anticipation-and-planning"] = ("You eased off for the bus before it pulled out.", "Name the next hazard aloud, one street ahead."),
        ["use-of-speed"] = ("You let the road choose the speed.", "Off the gas earlier before the bends of Mill Lane."),
        ["other-traffic"] = ("You waited well for the van at the parked cars.", "Meet traffic in the narrow streets without a prompt."),
        ["fuel-efficient-driving"] = ("Early off the gas and long looks ahead: a smooth drive.", "Keep the car rolling up to the lights."),
        ["junctions"] = ("Left turns are steady now.", "Right turns out of side roads: look, decide, go or wait."),
        ["roundabouts"] = ("You chose the lane early and kept it.", "Two roundabouts in a row without a prompt."),
        ["pedestrian-crossings"] = ("You saw the waiting child first.", "Speed down early, so that the stop is soft."),
        ["reversing"] = ("Slow, straight, and looking out of the back.", "Stop at once when somebody comes near."),
        ["turning-the-car-around"] = ("Turned in the road with good looks both ways.", "Choose the place by yourself."),
        ["parking"] = ("Bay parking: slow, slower, then steer. Nearly there.", "Between the lines at the first try."),
        ["emergency-stop"] = ("Firm, straight and quick.", "The same on a wet road, with the wheels kept turning."),
        ["country-roads"] = ("You read the bend from the hedges and the posts.", "Speed right before the bend, not in it."),
        ["dual-carriageways"] = ("Joined with good speed; kept the two-second gap.", "Leave in good time without a prompt."),
        ["motorways"] = ("Calm in the left lane, good looks before changing.", "Plan two junctions ahead."),
        ["driving-in-the-dark"] = ("Lights right, speed within what you could see.", "Dip in good time for cyclists too."),
        ["weather-conditions"] = ("You doubled the gap when the rain came.", "Try the demister before we set off."),
        ["passengers-and-loads"] = ("You asked for the belts before the key.", "Keep your eyes ahead while people talk."),
        ["independent-driving"] = ("Sat nav drive with two prompts only.", "Follow the signs to the harbour by yourself."),
    };

    /// <summary>What is written down of a skill at a level, and what comes next.</summary>
    public static (string Note, string Aim) Of(Skill skill, SkillLevel level)
    {
        var (note, aim) = BySkill.GetValueOrDefault(skill.Key, ("A steady lesson.", "More of the same, with fewer prompts."));
        return level switch
        {
            SkillLevel.Introduced => ($"{skill.Name}: a first look, with a lot of help yet.", $"{skill.Name} again, with less help."),
            SkillLevel.Helped => ($"{skill.Name}: better each time, with some help still.", $"{skill.Name} again, with less help."),
            _ => (note, aim),
        };
    }
}
