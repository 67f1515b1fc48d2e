namespace School.Web.Demo;

/// <summary>What instructors and pupils of the made-up school say about lessons.</summary>
internal static class DemoWords
{
    /// <summary>Of a lesson of which no skill is written down.</summary>
    public static readonly string[] Plain =
    [
        "Mirrors before signals came by itself today. Next: emerging left.", "Good hazard spotting on Mill Lane; ease off earlier for the bend.",
        "Roundabouts: look right earlier, then decide. Well done on lanes.", "Moved off smoothly on the hill three times running.",
        "Bay parking: slow, slower, then steer. Nearly there.", "Confident on the dual carriageway; keep the two-second gap.",
        "Meeting traffic: you waited well. Watch the door of the parked van.", "Sat nav drive with two prompts only.",
        "Clutch settled down in the queue. Practise the bite at home.", "Blind spot every time today. Keep it.",
    ];

    public static readonly string[] Reflections =
    [
        "I liked that we talked it through before trying it.",
        "The second half felt much calmer than the first.",
        "I still look down at the gear lever. I will practise with my eyes up.",
        "Big roundabouts scare me a bit. Can we do the one by the quarry again?",
        "I noticed the cyclist late. I want to look further ahead.",
        "Good to know that waiting is not a mistake.",
        "I was nervous about the car behind me until you said to let it be.",
        "I practised the cockpit checks in our car at home.",
    ];

    private static readonly Dictionary<string, (string Note, string Aim)> BySkill = new()
    {
        ["legal-responsibilities"] = ("You know what the car and you need before a drive.", "Bring the licence and tell me what makes a driver unfit."),
        ["safety-checks"] = ("You found the fluids and the tyres by yourself.", "Walk round the car and say what you look for."),
        ["cockpit-checks"] = ("The seat and mirrors were right before I asked.", "All checks in order without a word from me."),
        ["security"] = ("You left the car safe and locked without a prompt.", "The same on a hill, wheels turned."),
        ["controls-and-instruments"] = ("Your feet find the pedals now; the wheel stays light.", "Change gear with your eyes on the road."),
        ["moving-away-and-stopping"] = ("Six quiet starts, and soft stops to finish.", "Moving off uphill without rolling back."),
        ["safe-positioning"] = ("A steady line, and a door’s width from the parked cars.", "Hold that line where the road narrows."),
        ["mirrors"] = ("Mirrors before signals came by themselves today.", "Say what you saw, not that you looked."),
        ["signals"] = ("Signals in good time, and none that misled.", "Decide each time who the signal is for."),
        ["anticipation-and-planning"] = ("You eased off for the bus before it pulled out.", "Name the next hazard aloud, one street ahead."),
        ["use-of-speed"] = ("You let the road choose the speed.", "Off the gas earlier before the bends of Mill Lane."),
        ["other-traffic"] = ("You waited well for the van at the parked cars.", "Meet traffic in the narrow streets without a prompt."),
        ["fuel-efficient-driving"] = ("Early gears and long looks ahead: a smooth drive.", "Keep the car rolling up to the lights."),
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

    public static (string Note, string Aim) Of(string skill) => BySkill.GetValueOrDefault(skill, ("A steady lesson.", "More of the same, with fewer prompts."));
}
