namespace School.Web.Modules.People.Contracts;

/// <summary>Knows who learns here; filled by the module whose pupils they are.</summary>
internal interface IKnowPupils
{
    /// <summary>Whether this is a pupil who has not left.</summary>
    Task<bool> LearnsAsync(Guid pupilId, CancellationToken cancel);
}
