namespace School.Web.Modules.Pupils.Contracts;

/// <summary>A part of what the school knows of a pupil, each allowed on its own.</summary>
internal enum SeenOfPupil
{
    /// <summary>When and where lessons and tests are.</summary>
    Lessons,

    /// <summary>How far the pupil has come.</summary>
    Progress,

    /// <summary>What is owed and paid.</summary>
    Money,
}
