namespace School.Web.Modules.Messages.Contracts;

/// <summary>Which way letters go, for sentences that say no more than is so.</summary>
internal sealed class MailWay(MailSettings settings, MailFolder folder)
{
    /// <summary>The mail server by name and port; empty where there is none.</summary>
    public string Server => settings.HasServer ? $"{settings.Host}:{settings.PortInUse}" : "";

    /// <summary>Whether letters leave this machine.</summary>
    public bool Leaves => settings.HasServer;

    /// <summary>Where letters become files otherwise.</summary>
    public string Folder => folder.Path;

    /// <summary>What became of an invitation.</summary>
    public string Invited(string whom, bool toPupil = false) => Leaves
        ? $"An invitation is on its way to {whom}."
        : toPupil ? $"The invitation for {whom} is written, but the school sends no e-mail yet. Ask the office to pass its link on."
        : $"The invitation for {whom} is written, but goes nowhere: there is no mail server. Open it under Messages and pass its link on yourself.";
}
