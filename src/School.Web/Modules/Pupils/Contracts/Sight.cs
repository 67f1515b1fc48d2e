namespace School.Web.Modules.Pupils.Contracts;

/// <summary>How much somebody of the staff sees of a pupil.</summary>
internal enum Sight
{
    /// <summary>That they learn here, by name.</summary>
    Name,

    /// <summary>How they are reached, their places and their record, for the reason that was given and until midnight.</summary>
    ByReason,

    /// <summary>Everything but what is under seal, which asks more.</summary>
    Everything,
}
