namespace School.Core.Cars;

/// <summary>How a car changes gear, and so which test and licence a lesson in it leads to.</summary>
public enum Gearbox
{
    /// <summary>With a clutch pedal. A pass in one also covers automatics.</summary>
    Manual,

    /// <summary>Without a clutch pedal (how the practical test defines automatic).</summary>
    Automatic,
}
