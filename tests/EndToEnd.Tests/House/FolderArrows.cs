using System.Reflection;
using System.Text.RegularExpressions;
using Mono.Cecil;
using Mono.Cecil.Cil;

namespace PavementWatch.EndToEnd.Tests.House;

/// <summary>Which folders of a project name types of which others, read from the built assembly. A folder is the first part of a namespace.</summary>
/// <remarks>Where everything is put together (<c>Program</c>, <c>…Services</c>, …) may point anywhere and is left out.</remarks>
internal sealed partial class FolderArrows
{
    private readonly SortedDictionary<(string From, string To), (string From, string To)> _arrows = [];
    private readonly string _root;

    private FolderArrows(string root) => _root = root + ".";

    /// <summary>One arrow for each two folders, with the two types that draw it.</summary>
    public static FolderArrows Of(string project)
    {
        var arrows = new FolderArrows(project);
        using var assembly = AssemblyDefinition.ReadAssembly(Assembly.Load(project).Location);
        foreach (var type in assembly.MainModule.GetTypes())
        {
            if (arrows.Folder(type) is { } folder && !PutsTogether().IsMatch(Outer(type).Name))
                arrows.Draw(folder, type);
        }

        return arrows;
    }

    /// <summary>Folders of a project with types that name one of another assembly.</summary>
    public static IReadOnlyList<string> UsersOf(string project, params string[] others)
    {
        var of = new FolderArrows(project);
        using var assembly = AssemblyDefinition.ReadAssembly(Assembly.Load(project).Location);
        return
        [
            .. assembly.MainModule.GetTypes()
                .Where(type => Named(type).SelectMany(Parts).Any(named => others.Contains(named.Scope.Name)))
                .Select(type => of.Folder(type) ?? Outer(type).Name).Distinct().Order(),
        ];
    }

    /// <summary>From which folder to which.</summary>
    public IEnumerable<(string From, string To)> All => _arrows.Keys;

    /// <summary>Circles of folders, each as the arrows in it: "Spots → Database (SpotCatalogue names RegistryDb)".</summary>
    public IReadOnlyList<string> Circles()
    {
        var reach = _arrows.Keys.Select(a => a.From).Distinct().ToDictionary(folder => folder, From);
        return
        [
            .. _arrows
                .Where(a => reach.TryGetValue(a.Key.To, out var back) && back.Contains(a.Key.From))
                .Select(a => $"{a.Key.From} → {a.Key.To} ({a.Value.From} names {a.Value.To})"),
        ];
    }

    private HashSet<string> From(string folder)
    {
        var seen = new HashSet<string>();
        var next = new Stack<string>([folder]);
        while (next.TryPop(out var at))
        {
            foreach (var (_, to) in _arrows.Keys.Where(a => a.From == at))
            {
                if (seen.Add(to))
                    next.Push(to);
            }
        }

        return seen;
    }

    private void Draw(string folder, TypeDefinition type)
    {
        foreach (var named in Named(type).SelectMany(Parts))
        {
            if (Folder(named) is { } other && other != folder)
                _arrows.TryAdd((folder, other), (Outer(type).Name, Outer(named).Name));
        }
    }

    private static IEnumerable<TypeReference> Named(TypeDefinition type)
    {
        if (type.BaseType is { } from)
            yield return from;
        foreach (var named in type.Interfaces.Select(i => i.InterfaceType)
            .Concat(type.CustomAttributes.Select(a => a.AttributeType))
            .Concat(type.GenericParameters.SelectMany(p => p.Constraints).Select(c => c.ConstraintType))
            .Concat(type.Fields.SelectMany(f => f.CustomAttributes.Select(a => a.AttributeType).Append(f.FieldType)))
            .Concat(type.Properties.SelectMany(p => p.CustomAttributes.Select(a => a.AttributeType).Append(p.PropertyType)))
            .Concat(type.Methods.SelectMany(Of)))
        {
            yield return named;
        }
    }

    private static IEnumerable<TypeReference> Of(MethodDefinition method)
    {
        var outside = Of((MethodReference)method).Concat(method.CustomAttributes.Select(a => a.AttributeType));
        return method.HasBody
            ? outside
                .Concat(method.Body.Variables.Select(v => v.VariableType))
                .Concat(method.Body.ExceptionHandlers.Select(h => h.CatchType).OfType<TypeReference>())
                .Concat(method.Body.Instructions.SelectMany(Of))
            : outside;
    }

    private static IEnumerable<TypeReference> Of(Instruction instruction) => instruction.Operand switch
    {
        TypeReference type => [type],
        FieldReference field => [field.DeclaringType, field.FieldType],
        MethodReference method => Of(method).Append(method.DeclaringType),
        _ => [],
    };

    private static IEnumerable<TypeReference> Of(MethodReference method) =>
        method.Parameters.Select(p => p.ParameterType).Append(method.ReturnType)
            .Concat(method is GenericInstanceMethod generic ? generic.GenericArguments : []);

    // IReadOnlyList<Spot> names both.
    private static IEnumerable<TypeReference> Parts(TypeReference type) =>
        type is GenericInstanceType generic ? generic.GenericArguments.SelectMany(Parts).Append(generic.ElementType)
        : type is TypeSpecification of ? Parts(of.ElementType)
        : [type];

    private string? Folder(TypeReference type)
    {
        var space = Outer(type).Namespace;
        return space.StartsWith(_root, StringComparison.Ordinal) ? space[_root.Length..].Split('.')[0] : null;
    }

    private static TypeReference Outer(TypeReference type) => type.DeclaringType is { } outer ? Outer(outer) : type;

    [GeneratedRegex("(Services|ServerApp|CommandLine|Program|Host|Hosting)$")]
    private static partial Regex PutsTogether();
}
